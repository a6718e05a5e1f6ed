"""The first run: one sentence, then straight to three notes of a tune."""

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.first_run import FirstRunPresenter, FirstRunView, Moment
from coach.ui.presenters.view import PageView, Ready
from coach.ui.theme import TITLE_SP
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.found import FoundNotes
from coach.ui.widgets.layout import Column
from coach.ui.widgets.neck import FretboardView
from coach.ui.widgets.notice import Emblem
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence

LOUDNESS = (
    "Start quiet: turn your loudspeaker or headphones up only as far as you can still hear someone talk. "
    "Stop when hand, wrist or voice hurts."
)


class FirstRunPage(Page):
    """Draws each moment anew; while notes are looked for, only words and circles change."""

    presenter: FirstRunPresenter

    def __init__(self, context: ScreenContext, presenter: FirstRunPresenter) -> None:
        self._shown: tuple[Moment, bool] | None = None
        super().__init__(context, presenter)

    @override
    def draw(self, value: FirstRunView) -> None:
        look = self.look
        self._shown = (value.moment, value.neck is not None)
        self._sentence = sentence(look)
        self._said = Words(look, size_sp=TITLE_SP, colour=look.theme.quiet)
        self._found = FoundNotes(look, value.names, value.looking)
        if value.moment is Moment.WELCOME:
            self.put(Emblem(look))
        self.put(Column(self._sentence, self._said, gap=1.5))
        if value.moment is Moment.WELCOME:
            self.put(quiet(look, LOUDNESS))
        if value.names:
            self.put(self._found)
        if value.neck is not None:
            self.put(FretboardView(look, value.neck, self.presenter.tap))
        elif value.moment is Moment.FIND:
            self.put(Press(look, "Tap it on a drawn neck instead", self.presenter.show_neck))
        self._follow(value)

    @override
    def keeps(self, value: FirstRunView) -> bool:
        if self._shown != (value.moment, value.neck is not None):
            return False
        self._follow(value)
        return True

    @override
    def show(self, view: PageView[FirstRunView]) -> None:
        if not isinstance(view, Ready):
            self._shown, self.source = None, None
        super().show(view)

    @override
    def act_second(self) -> None:
        self.presenter.second()

    def _follow(self, value: FirstRunView) -> None:
        self._sentence.said, self._said.said = value.sentence, value.said
        self._found.show(value.names, value.looking)
        self.source = self.presenter.levels
        self.action, self.second = value.action, value.second


def build(context: ScreenContext) -> Page:
    """The first run in the shared room."""
    return FirstRunPage(context, FirstRunPresenter(context.room, context.later, context.jobs, context.go))
