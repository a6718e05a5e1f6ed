"""Together: the neck, large, both notes of the moment, and what would have to change."""

from collections.abc import Sequence

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import TOOL_WORDS, TogetherView
from coach.ui.screens.together.tools import contents, tool
from coach.ui.theme import SPACE_DP
from coach.ui.widgets.buttons import Choice, Press
from coach.ui.widgets.layout import Column
from coach.ui.widgets.neck import FretboardView
from coach.ui.widgets.neck_window import STEP
from coach.ui.widgets.page import Page
from coach.ui.widgets.strip import LineStrip
from coach.ui.widgets.text import quiet, sentence, title
from coach.ui.widgets.touch import Touch

LOOK_UP_S = 0.5
HIGHEST_DP = 520
"""A neck higher than this no longer looks like one: a portrait window has more room."""
LOW_DP = 420
"""A page lower than this is all neck when the neck is drawn nearer."""
SENTENCE_ROOM_DP = 64
"""Else one sentence stays in sight below it."""
LEFT_OVER = 0.001
"""Share of the air below it all: it gets what the neck may not take."""


class TogetherPage(Page):
    """Both lines of one section."""

    presenter: TogetherPresenter
    edge_dp = SPACE_DP
    """The neck comes first and wants the height."""

    def __init__(self, context: ScreenContext, presenter: TogetherPresenter) -> None:
        self.zoom = 1.0
        self.neck: FretboardView | None = None
        self.shown: tuple[object, ...] = ()
        super().__init__(context, presenter)
        self.scroll.bind(height=self._heighten)
        self._clock = Clock.schedule_interval(lambda _: presenter.look_up(), LOOK_UP_S)

    @override
    def draw(self, value: TogetherView) -> None:
        """Neck, sentence, moment, and one group of controls."""
        look, presenter = self.look, self.presenter
        self.neck = neck = FretboardView(look, value.neck, presenter.tap, presenter.drag, zooms=True)
        neck.zoom = self.zoom
        neck.bind(zoom=self._zoomed, can_come_closer=self._zoomed, can_go_wider=self._zoomed)
        neck.bind(size_hint_min_y=self._heighten)
        self.closer = Press(look, "Closer", neck.closer)
        self.wider = Press(look, "Wider", neck.wider)
        self._heighten()
        self.sentence, self.said = sentence(look), title(look)
        self.moment = quiet(look)
        self.strip = LineStrip(look, value.strip, presenter.choose_moment)
        words = [(each.value, words) for each, words in TOOL_WORDS.items()]
        self.tools = Choice(look, words, value.tool.value, presenter.open_tool)
        self.group = Column()
        self.body.spacing = dp(SPACE_DP)
        for near in (self.closer, self.wider):
            self.tools.add_widget(near)
        self.put(neck, Column(self.sentence, self.said, self.moment, gap=0.5), self.tools, self.group)
        self._zoomed()
        self.put(Widget(size_hint_y=LEFT_OVER, size_hint_min_y=0, height=0))
        self.shown = ()
        self._tell(value)

    def _heighten(self, *_: object) -> None:
        """The neck may take the whole page when it is drawn nearer."""
        if self.neck is not None:
            room = self.scroll.height - 2 * dp(self.edge_dp)
            self.neck.highest = room - (dp(SENTENCE_ROOM_DP) if room > dp(LOW_DP) else 0)
            self.neck.size_hint_max_y = max(dp(HIGHEST_DP), self.neck.size_hint_min_y)

    def _zoomed(self, *_: object) -> None:
        if self.neck is not None:
            self.zoom = self.neck.zoom
            self.closer.disabled = not self.neck.can_come_closer
            self.wider.disabled = not self.neck.can_go_wider

    @override
    def key(self, code: int, text: str, modifiers: Sequence[str]) -> bool:
        """Plus and minus draw the neck nearer and wider, nought shows all of it."""
        zooms = {"+": STEP, "=": STEP, "-": 1 / STEP, "0": 0.0}
        if self.neck is None or self.neck.parent is None or text not in zooms:
            return False
        self.neck.zoom_to(self.neck.zoom * zooms[text])
        return True

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
