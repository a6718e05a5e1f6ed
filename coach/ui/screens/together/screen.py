"""Together: the neck, large, both notes of the moment, and what would have to change."""

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import TOOL_WORDS, TogetherView
from coach.ui.screens.together.tools import contents, tool
from coach.ui.theme import SPACE_DP
from coach.ui.widgets.buttons import Choice
from coach.ui.widgets.layout import Column
from coach.ui.widgets.neck import FretboardView
from coach.ui.widgets.page import Page
from coach.ui.widgets.strip import LineStrip
from coach.ui.widgets.text import quiet, sentence, title
from coach.ui.widgets.touch import Touch

LOOK_UP_S = 0.5
HIGHEST_DP = 520
"""A neck higher than this no longer looks like one: a portrait window has more room."""
LEFT_OVER = 0.001
"""Share of the air below it all: it gets what the neck may not take."""


class TogetherPage(Page):
    """Both lines of one section."""

    presenter: TogetherPresenter
    edge_dp = SPACE_DP
    """The neck comes first and wants the height."""

    def __init__(self, context: ScreenContext, presenter: TogetherPresenter) -> None:
        self.neck: FretboardView | None = None
        self.shown: tuple[object, ...] = ()
        super().__init__(context, presenter)
        self._clock = Clock.schedule_interval(lambda _: presenter.look_up(), LOOK_UP_S)

    @override
    def draw(self, value: TogetherView) -> None:
        """Neck, sentence, moment, and one group of controls."""
        look, presenter = self.look, self.presenter
        self.neck = FretboardView(look, value.neck, presenter.tap, presenter.drag)
        self.neck.size_hint_max_y = dp(HIGHEST_DP)
        self.sentence, self.said = sentence(look), title(look)
        self.moment = quiet(look)
        self.strip = LineStrip(look, value.strip, presenter.choose_moment)
        words = [(each.value, words) for each, words in TOOL_WORDS.items()]
        self.tools = Choice(look, words, value.tool.value, presenter.open_tool)
        self.group = Column()
        self.body.spacing = dp(SPACE_DP)
        self.put(self.neck, Column(self.sentence, self.said, self.moment, gap=0.5), self.tools, self.group)
        self.put(Widget(size_hint_y=LEFT_OVER, size_hint_min_y=0, height=0))
        self.shown = ()
        self._tell(value)

    @override
    def keeps(self, value: TogetherView) -> bool:
        """Everything changes in place, so that the neck stays where the eyes are."""
        if self.neck is None or self.neck.parent is None:
            return False
        self.neck.show(value.neck)
        self.strip.show(value.strip)
        self._tell(value)
        return True

    def _tell(self, value: TogetherView) -> None:
        # What has just been said takes the sentence's place: on a low window there is room for one.
        self.sentence.said = "" if value.said else value.sentence
        self.said.said = value.said
        self.moment.said = f"{value.moment} {value.bar}"
        self.tools.choose(value.tool.value)
        if self.shown != contents(value):
            self.shown = contents(value)
            self.group.clear_widgets()
            self.group.add(tool(self.look, value, self.presenter, self.strip))
        self.action, self.second = value.action, "Next note"

    @override
    def act_second(self) -> None:
        self.presenter.step(1)

    @override
    def arrow(self, direction: str) -> bool:
        """Left and right step from onset to onset."""
        if direction in {"left", "right"}:
            self.presenter.step(-1 if direction == "left" else 1)
            return True
        return False

    def on_touch_down(self, touch: Touch) -> bool:
        """A note is dragged at once: the page does not scroll under it."""
        holds = self.neck is not None and self.neck.parent is not None
        if holds and self.scroll.collide_point(*touch.pos) and self.scroll.do_scroll_y:
            held = self.neck is not None and self.neck.note_at(*self.neck.to_widget(*touch.pos)) is not None
            self.scroll.do_scroll_y = not held
            done = super().on_touch_down(touch)
            self.scroll.do_scroll_y = True
            return bool(done)
        return bool(super().on_touch_down(touch))

    @override
    def closed(self) -> None:
        self._clock.cancel()
        super().closed()


def build(context: ScreenContext) -> Page:
    """The section that ``about`` names."""
    section = context.about.get("section", "A")
    presenter = TogetherPresenter(context.room, section, context.later, context.jobs, context.go)
    return TogetherPage(context, presenter)
