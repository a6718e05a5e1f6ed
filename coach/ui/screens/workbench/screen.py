"""The workbench: the loop above, the line strip, the neck, and one thing to do."""

from collections.abc import Callable
from fractions import Fraction

from kivy.clock import Clock
from typing_extensions import override

from coach.notation import LineKind
from coach.sessions.ports import Emphasis
from coach.ui.context import ScreenContext
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.workbench import WorkbenchPresenter
from coach.ui.presenters.workbench_view import EMPHASIS_WORDS, SPEEDS, WorkbenchView
from coach.ui.widgets.buttons import Choice, Press, Weight
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.neck import FretboardView
from coach.ui.widgets.page import Page
from coach.ui.widgets.strip import LineStrip
from coach.ui.widgets.text import quiet, sentence, title
from coach.ui.widgets.tiles import BarTiles

CURSOR_S = 1 / 30
"""How often the moving line moves."""


class WorkbenchPage(Page):
    """One line of one section."""

    presenter: WorkbenchPresenter

    def __init__(self, context: ScreenContext, presenter: WorkbenchPresenter) -> None:
        self.strip: LineStrip | None = None
        self.neck: FretboardView | None = None
        self.folded = True
        super().__init__(context, presenter)
        self._clock = Clock.schedule_interval(self._follow, CURSOR_S)

    @override
    def draw(self, value: WorkbenchView) -> None:
        """What to do, the loop, the strip, the neck."""
        look = self.look
        self.said = title(look, value.said)
        self.sentence = sentence(look, value.sentence)
        self.put(Column(quiet(look, value.title), self.sentence, self.said, gap=0.75))
        self.strip = LineStrip(look, value.strip, self.presenter.choose)
        self.put(self.strip)
        self.buttons = Flow(*self._note_buttons(value))
        self.put(self.buttons)
        self.neck = FretboardView(look, value.neck, self.presenter.tap)
        self.put(self.neck)
        self.tiles = BarTiles(
            look, value.tiles, value.loop, lambda loop: self.presenter.change_sound(loop=loop)
        )
        self.put(Card(look, self._sound_row(value), self.tiles))
        self._name(value)

    @override
    def keeps(self, value: WorkbenchView) -> bool:
        """Change in place: a neck that is tapped must not jump away under the finger."""
        if self.strip is None or self.neck is None or self.strip.parent is None:
            return False
        self.sentence.said, self.said.said = value.sentence, value.said
        self.strip.show(value.strip)
        self.neck.show(value.neck)
        self.buttons.clear_widgets()
        for button in self._note_buttons(value):
            self.buttons.add_widget(button)
        self.hold.said = "Go on" if value.holding else "Hold this moment"
        self.listen.said = "Stop" if value.playing else "Listen"
        self._name(value)
        return True

    @override
    def act_second(self) -> None:
        self.presenter.settle()

    @override
    def arrow(self, direction: str) -> bool:
        """Left and right go along the strip."""
        if direction in {"left", "right"}:
            by = -1 if direction == "left" else 1
            self.presenter.work(lambda note: note.step(by))
            return True
        return False

    @override
    def closed(self) -> None:
        self._clock.cancel()
        super().closed()

    def _name(self, value: WorkbenchView) -> None:
        self.action, self.second = value.action, value.second

    def _sound_row(self, value: WorkbenchView) -> Column:
        look, presenter = self.look, self.presenter
        self.listen = Press(look, "Stop" if value.playing else "Listen", presenter.play_or_stop)
        self.hold = Press(look, "Hold this moment", presenter.hold_or_release)
        speeds = [(str(speed), f"{round(100 * speed)} %") for speed in SPEEDS]
        speed = Choice(look, speeds, str(value.speed), lambda key: presenter.change_sound(speed=float(key)))
        louder = [(each.value, words) for each, words in EMPHASIS_WORDS.items()]
        emphasis = Choice(
            look, louder, value.emphasis.value, lambda key: presenter.change_sound(emphasis=Emphasis(key))
        )
        return Column(Flow(self.listen, self.hold), quiet(look, "Slower or faster"), speed, emphasis, gap=1)

    def _note_buttons(self, value: WorkbenchView) -> list[Press]:
        look, work = self.look, self.presenter.work
        if value.settled:
            return []
        half = Fraction(1, 2)
        buttons = (
            [Press(look, "Sing or play the phrase", self.presenter.begin_phrase)] if value.listens else []
        )
        if value.hint is not None:
            buttons.append(Press(look, value.hint, lambda: work(lambda note: note.hint())))
        if value.second:
            buttons.append(Press(look, "Hear my notes", self.presenter.hear_line))
        if value.has_note:
            changes: list[tuple[str, Callable[[NoteWork], None]]] = [
                ("Shorter", lambda note: note.lengthen(-half)),
                ("Longer", lambda note: note.lengthen(half)),
                ("12 frets up", lambda note: note.octave(1)),
                ("12 frets down", lambda note: note.octave(-1)),
                ("Take out", NoteWork.remove),
                ("Check all", NoteWork.check_all),
                ("All 12 frets up", lambda note: note.all_octaves(1)),
                ("All 12 frets down", lambda note: note.all_octaves(-1)),
            ]
            buttons += [self._quiet(words, change) for words, change in changes]
        if value.can_undo:
            buttons.append(self._quiet("Undo", NoteWork.undo))
        if value.can_redo:
            buttons.append(self._quiet("Redo", NoteWork.redo))
        return buttons

    def _quiet(self, words: str, change: Callable[[NoteWork], None]) -> Press:
        return Press(self.look, words, lambda: self.presenter.work(change), weight=Weight.QUIET)

    def _follow(self, _passed_s: float) -> None:
        if self.strip is not None and self.strip.parent is not None:
            self.presenter.look_up()
            self.strip.cursor(self.presenter.position)


def build(context: ScreenContext) -> Page:
    """The workbench of the section and line that ``about`` names."""
    section = context.about.get("section", "A")
    kind = LineKind(context.about.get("line", LineKind.MELODY.value))
    presenter = WorkbenchPresenter(context.room, section, kind, context.later, context.jobs, context.go)
    return WorkbenchPage(context, presenter)
