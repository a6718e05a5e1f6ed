"""Finish: the take, the files, what was learned in numbers, what comes next."""

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.finish import FinishPresenter, FinishView
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.sheet import PageImage, SheetView
from coach.ui.widgets.text import Words, quiet, sentence, title


class FinishPage(Page):
    """The piece at its end."""

    presenter: FinishPresenter

    @override
    def draw(self, value: FinishView) -> None:
        """Title, sentence, numbers, take, files."""
        look = self.look
        self.put(Column(title(look, value.title), sentence(look, value.sentence), gap=1))
        self.put(Card(look, *(Words(look, number) for number in value.numbers)))
        if value.take is not None:
            hear = Press(look, "Stop" if value.playing else "Hear it", self.presenter.hear_take)
            self.put(Card(look, title(look, value.take), Flow(hear)))
        if value.next_limit:
            self.put(Card(look, quiet(look, "What comes next"), Words(look, value.next_limit)))
        if value.files:
            names = [Words(look, name) for name in value.files]
            self.put(Card(look, quiet(look, "Your sheet and your take lie here"), *names))
        if value.pages:
            pages = [PageImage(page.width, page.height, page.rgba) for page in value.pages]
            self.put(SheetView(look, pages))
        self.action, self.second = value.action, value.second

    @override
    def act_second(self) -> None:
        self.presenter.second()


def build(context: ScreenContext) -> Page:
    """The end of the piece; ``piece`` is a finished one to be looked at."""
    presenter = FinishPresenter(
        context.room, context.later, context.jobs, context.go, context.about.get("piece")
    )
    return FinishPage(context, presenter)
