"""Together: the neck, large, both notes of the moment, and what would have to change."""

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.together import TogetherPresenter, TogetherView
from coach.ui.widgets.buttons import Choice, Press, Weight
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.neck import FretboardView
from coach.ui.widgets.page import Page
from coach.ui.widgets.strip import LineStrip
from coach.ui.widgets.text import Words, quiet, sentence, title


class TogetherPage(Page):
    """Both lines of one section."""

    presenter: TogetherPresenter

    def __init__(self, context: ScreenContext, presenter: TogetherPresenter) -> None:
        self.neck: FretboardView | None = None
        self.shown: tuple[object, ...] = ()
        super().__init__(context, presenter)

    @override
    def draw(self, value: TogetherView) -> None:
        """Sentence, neck, moment, strip, changes."""
        look, presenter = self.look, self.presenter
        self.said, self.moment = title(look, value.said), quiet(look, value.moment)
        self.put(Column(quiet(look, value.title), sentence(look, value.sentence), self.said, gap=0.75))
        self.neck = FretboardView(look, value.neck, presenter.tap)
        self.put(self.neck)
        self.hear = Press(look, "Stop" if value.playing else "Hear it", presenter.play_or_stop)
        steps = Flow(
            Press(look, "Back", lambda: presenter.step(-1), weight=Weight.QUIET),
            Press(look, "Next note", lambda: presenter.step(1)),
            self.hear,
            Press(look, "Easiest way again", presenter.forget_wishes, weight=Weight.QUIET),
        )
        self.put(Column(self.moment, steps, gap=1))
        self.strip = LineStrip(look, value.strip, presenter.choose_moment)
        self.put(self.strip)
        if value.blocked:
            self.put(self._why(value))
        self.shown = self._lasting(value)
        self.action = "Good enough for now" if value.can_settle else ""

    @override
    def keeps(self, value: TogetherView) -> bool:
        """Step from onset to onset in place; another way is drawn anew."""
        if self.neck is None or self.neck.parent is None or self.shown != self._lasting(value):
            return False
        self.said.said, self.moment.said = value.said, value.moment
        self.neck.show(value.neck)
        self.strip.show(value.strip)
        self.hear.said = "Stop" if value.playing else "Hear it"
        return True

    @override
    def arrow(self, direction: str) -> bool:
        """Left and right step from onset to onset."""
        if direction in {"left", "right"}:
            self.presenter.step(-1 if direction == "left" else 1)
            return True
        return False

    def _why(self, value: TogetherView) -> Card:
        look = self.look
        reasons = [Words(look, reason) for reason in value.blocked[:3]]
        card = Card(look, title(look, "As written"), *reasons)
        if value.ways:
            ways = [(str(index), words) for index, words in enumerate(value.ways)]
            chosen = Choice(look, ways, str(value.way), lambda key: self.presenter.choose_way(int(key)))
            card.add(quiet(look, "The smallest change first"), chosen)
        return card

    @staticmethod
    def _lasting(value: TogetherView) -> tuple[object, ...]:
        return (value.sentence, value.blocked, value.ways, value.way, value.can_settle)


def build(context: ScreenContext) -> Page:
    """The section that ``about`` names."""
    section = context.about.get("section", "A")
    presenter = TogetherPresenter(context.room, section, context.later, context.jobs, context.go)
    return TogetherPage(context, presenter)
