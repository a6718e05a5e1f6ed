"""The workbench: the loop above, the line strip, the neck, and one thing to do."""

from fractions import Fraction

from kivy.clock import Clock
from typing_extensions import override

from coach.notation import LineKind
from coach.sessions.ports import Emphasis
from coach.ui.context import ScreenContext
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
        self.put(Column(quiet(look, value.title), sentence(look, value.sentence), self.said, gap=0.75))
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
        self.said.said = value.said
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
            self.presenter.step(-1 if direction == "left" else 1)
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
        look, presenter = self.look, self.presenter
        buttons = []
        if value.hint is not None:
            buttons.append(Press(look, value.hint, presenter.take_hint))
        if value.has_note and not value.settled:
            half = Fraction(1, 2)
            buttons += [
                Press(look, "Shorter", lambda: presenter.lengthen(-half), weight=Weight.QUIET),
                Press(look, "Longer", lambda: presenter.lengthen(half), weight=Weight.QUIET),
                Press(look, "12 frets up", lambda: presenter.octave(1), weight=Weight.QUIET),
                Press(look, "12 frets down", lambda: presenter.octave(-1), weight=Weight.QUIET),
                Press(look, "Take out", presenter.remove, weight=Weight.QUIET),
            ]
        if value.can_undo:
            buttons.append(Press(look, "Undo", presenter.undo, weight=Weight.QUIET))
        if value.can_redo:
            buttons.append(Press(look, "Redo", presenter.redo, weight=Weight.QUIET))
        return buttons

    def _follow(self, _passed_s: float) -> None:
        if self.strip is not None and self.strip.parent is not None:
            position = self.presenter.position
            self.strip.cursor(position)


def build(context: ScreenContext) -> Page:
    """The workbench of the section and line that ``about`` names."""
    section = context.about.get("section", "A")
    kind = LineKind(context.about.get("line", LineKind.MELODY.value))
    presenter = WorkbenchPresenter(context.room, section, kind, context.later, context.jobs, context.go)
    return WorkbenchPage(context, presenter)
