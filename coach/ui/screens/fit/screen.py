"""A key for the guitar: each with its reasons and a sound sample."""

from collections.abc import Callable

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.fit import FitChoice, FitPresenter, FitView
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, sentence, title


class FitPage(Page):
    """Three to five keys."""

    presenter: FitPresenter

    @override
    def draw(self, value: FitView) -> None:
        """Sentence and a card a key."""
        look = self.look
        head = Column(sentence(look, value.sentence), gap=1)
        if value.said:
            head.add(title(look, value.said))
        self.put(head)
        for index, choice in enumerate(value.choices):
            self.put(self._card(index, choice, chosen=index == value.chosen))
        self.action = "Use this key"

    def _card(self, index: int, choice: FitChoice, *, chosen: bool) -> Card:
        look = self.look
        take = Press(look, "Chosen" if chosen else "Choose", self._choosing(index))
        take.chosen = chosen
        hear = Press(look, "Stop" if choice.playing else "Hear it", self._hearing(index))
        reasons = [Words(look, reason) for reason in choice.reasons]
        return Card(look, title(look, choice.title), *reasons, Flow(take, hear), raised=chosen)

    def _choosing(self, index: int) -> Callable[[], None]:
        return lambda: self.presenter.choose(index)

    def _hearing(self, index: int) -> Callable[[], None]:
        return lambda: self.presenter.hear(index)


def build(context: ScreenContext) -> Page:
    """Keys for the piece in hand, by the tune of the section that ``about`` names."""
    section = context.about.get("section", "A")
    return FitPage(context, FitPresenter(context.room, section, context.later, context.jobs, context.go))
