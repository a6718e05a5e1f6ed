"""The page: what every screen is made of, and how it shows the five states."""

from collections.abc import Callable, Sequence
from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.effects.scroll import ScrollEffect
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.anchorlayout import AnchorLayout
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from coach.ui.context import ScreenContext
from coach.ui.drawing import rgba
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Missing, PageView, Ready, Working
from coach.ui.theme import COLUMN_DP, SPACE_DP
from coach.ui.widgets.layout import Column
from coach.ui.widgets.notice import Notice, working

OPEN_AGAIN = "Open this page again"
"""What failed is not done again by itself: the player sees first how things stand."""
HELD_BACK_MS = 80
"""How long a scrolled page waits for a drag before a touch is handed on; Kivy's 250 ms feel late."""


class Page(BoxLayout):
    """A screen's content in a scrolled column; the frame draws the actions it names.

    A screen's class overrides `draw` (and what else it needs) and is returned by its module's ``build``.

    Attributes
    ----------
    action, action_enabled
        Words of the one big action at the lower right; empty: there is none.
    second
        Words of the quieter action beside it (“Again”, “Skip”).
    source
        A `LevelSource` while this screen listens: the frame then shows the level bar.
    """

    action = StringProperty("")
    action_enabled = BooleanProperty(True)
    second = StringProperty("")
    source = ObjectProperty(None, allownone=True)
    times_drawn = NumericProperty(0)
    """How often it was drawn anew: the ring of the keys passes on to the new widgets."""
    edge_dp = 3 * SPACE_DP
    """Air above and below the column; less where a drawing needs the height."""

    def __init__(self, context: ScreenContext, presenter: "Presenter[Any] | None" = None) -> None:
        super().__init__(orientation="vertical")
        self.context, self.look, self.presenter = context, context.look, presenter
        self.body = Column(gap=2.5)
        self.scroll = ScrollView(
            do_scroll_x=False, scroll_timeout=HELD_BACK_MS,
            effect_cls=ScrollEffect, bar_width=dp(6), scroll_type=["content", "bars"],
            bar_color=rgba(self.look.theme.outline), bar_inactive_color=rgba(self.look.theme.outline, 0.5),
        )  # fmt: skip
        self._middle = AnchorLayout(anchor_x="center", anchor_y="top", size_hint_y=None)
        self._middle.add_widget(self.body)
        self.scroll.add_widget(self._middle)
        self.add_widget(self.scroll)
        self._fit = Clock.create_trigger(self._fit_now, -1)
        self.body.unbind(minimum_height=self.body.setter("height"))
        self.body.bind(minimum_height=self._fit)
        self.scroll.bind(size=self._fit)
        self._acting: Callable[[], None] | None = None
        self._unwatch: Callable[[], None] | None = None
        self._troubled = False
        if presenter is not None:
            self._unwatch = presenter.watch(self.show)
            self.show(presenter.view)

    # --- what a screen overrides --------------------------------------------------------------------------

    def draw(self, value: Any) -> None:  # noqa: ANN401 - each screen narrows it to its own view
        """Show the view of a screen that is ready: add widgets with ``self.put`` and name the actions."""

    def act(self) -> None:
        """The one action, when the screen is ready; the presenter's by default."""
        if self.presenter is not None:
            self.presenter.act()

    def act_second(self) -> None:
        """The quieter action beside it."""

    def arrow(self, direction: str) -> bool:  # noqa: ARG002 - for screens with a cursor
        """An arrow key: ``left``, ``right``, ``up``, ``down``; true if it was of use here."""
        return False

    def key(self, code: int, text: str, modifiers: Sequence[str]) -> bool:  # noqa: ARG002 - as arrow
        """Another key, by Kivy's code and the sign it types; true if it was of use here."""
        return False

    def dropped(self, file: str) -> None:
        """A file was dropped onto the window."""

    def opened(self) -> None:
        """The screen is on."""
        Window.bind(on_drop_file=self._dropped)
        if self.presenter is not None:
            self.presenter.opened()

    def closed(self) -> None:
        """The screen is left for good."""
        Window.unbind(on_drop_file=self._dropped)
        if self._unwatch is not None:
            self._unwatch()
        if self.presenter is not None:
            self.presenter.closed()

    # --- what the frame calls -----------------------------------------------------------------------------

    def press_action(self) -> None:
        """Do what the big button says now."""
        if self.action and self.action_enabled:
            (self._acting or self.act)()

    def press_second(self) -> None:
        """Do what the quieter button says."""
        if self.second:
            self.act_second()

    # --- showing ------------------------------------------------------------------------------------------

    def put(self, *widgets: Widget) -> None:
        """Add widgets to the column."""
        self.body.add(*widgets)

    def show(self, view: PageView[Any]) -> None:
        """Show one of the five states; nothing more once there was trouble."""
        if self._troubled:
            return
        if isinstance(view, Ready) and self.keeps(view.value):
            return
        self.body.clear_widgets()
        self.action, self.second, self.action_enabled, self._acting = "", "", True, None
        match view:
            case Ready(value):
                self.draw(value)
            case Working(what, share, can_cancel):
                self.put(working(self.look, what, share))
                if can_cancel and self.presenter is not None:
                    self.action, self._acting = "Stop", self.presenter.cancel
            case Empty(sentence_, action):
                self._notice(Notice(self.look, sentence_), action)
            case Missing(what, do, action):
                self._notice(Notice(self.look, what, do, mark="missing"), action)
            case Failed(what, do, action):
                self._notice(Notice(self.look, what, do, mark="failed"), action)
        self.times_drawn += 1

    def keeps(self, value: Any) -> bool:  # noqa: ANN401, ARG002 - as draw
        """A screen that can change in place does so here and returns true; else it is drawn anew."""
        return False

    def trouble(self, what: str, do: str, again: Callable[[], None]) -> None:
        """Say that something the screen did not reckon with went wrong, and offer to open it again.

        That stays until it is read: whatever the presenter shows from now on would wipe it away at once.
        """
        self._troubled = True
        self.body.clear_widgets()
        self.second, self.action_enabled = "", True
        self.put(Notice(self.look, what, do, mark="failed"))
        self.action, self._acting = OPEN_AGAIN, again
        self.times_drawn += 1

    def _dropped(self, _window: object, name: bytes, *_: object) -> None:
        self.dropped(name.decode("utf-8", "replace"))

    def _notice(self, notice: Notice, action: str | None) -> None:
        self.put(notice)
        self.action = action or ""
        self._acting = self.presenter.act if self.presenter is not None else None

    def _fit_now(self, *_: object) -> None:
        width = self.scroll.width
        margin = max(dp(3 * SPACE_DP), (width - dp(COLUMN_DP)) / 2)
        self.body.padding = [margin, dp(self.edge_dp), margin, dp(self.edge_dp)]
        self._middle.height = max(self.body.minimum_height, self.scroll.height)
        # A page that fits hands touches on at once.
        self.scroll.do_scroll_y = self._middle.height > self.scroll.height + 1
        fills = any(child.size_hint_y is not None for child in self.body.children)
        self.body.height = self._middle.height if fills else self.body.minimum_height
