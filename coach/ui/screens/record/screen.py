"""Recording a piece through the microphone."""

from kivy.clock import Clock
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.record import MAY_USE, RecordPresenter, RecordView, Turn
from coach.ui.presenters.view import PageView, Ready
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Card, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, note_name, quiet, sentence

LOOK_UP_S = 0.2
QUIET_ROOM = "A quiet room, and the microphone about an arm's length from the sound, are best."


class RecordPage(Page):
    """Before, while and after."""

    presenter: RecordPresenter

    @override
    def draw(self, value: RecordView) -> None:
        look = self.look
        self.put(sentence(look, value.sentence))
        if value.said:
            self.put(Words(look, value.said, colour=look.theme.caution))
        match value.turn:
            case Turn.BEFORE:
                self.put(quiet(look, QUIET_ROOM), quiet(look, MAY_USE))
            case Turn.RUNNING:
                self.length = note_name(look, value.length)
                self.put(self.length)
            case Turn.AFTER:
                hear = Press(look, "Stop" if value.sounding else "Hear it", self.presenter.hear)
                named = Field(look, "What is it called?", value.name, typed=self.presenter.name)
                self.put(Card(look, Flow(hear), named))
        self.action, self.second = value.action, value.second
        self.source = self.presenter.levels if value.turn is not Turn.AFTER else None
        self._drawn = value

    @override
    def keeps(self, value: RecordView) -> bool:
        before = getattr(self, "_drawn", None)
        if before is None or value.turn is not Turn.RUNNING or before.turn is not Turn.RUNNING:
            return False
        self.length.said = value.length
        return True

    @override
    def show(self, view: PageView[RecordView]) -> None:
        if not isinstance(view, Ready):
            self.source = None
        super().show(view)

    @override
    def act_second(self) -> None:
        self.presenter.act_second()

    @override
    def opened(self) -> None:
        super().opened()
        self._clock = Clock.schedule_interval(lambda _: self.presenter.look_up(), LOOK_UP_S)

    @override
    def closed(self) -> None:
        self._clock.cancel()
        super().closed()


def build(context: ScreenContext) -> Page:
    """A recording of the player's own making."""
    return RecordPage(context, RecordPresenter(context.room, context.later, context.jobs, context.go))
