"""One drill: what to do, the player's own pitch as a thread, how near it was."""

from collections.abc import Callable, Sequence
from random import Random

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.metrics import dp
from typing_extensions import override

from coach.drills.kinds import AnswerForm
from coach.ui.context import ScreenContext
from coach.ui.presenters.drill import DrillPresenter, DrillView, Phase
from coach.ui.presenters.view import PageView, Ready
from coach.ui.theme import DRILL_TARGET_DP, SPACE_DP, TITLE_SP
from coach.ui.widgets.buttons import Press, Weight
from coach.ui.widgets.layout import Column, Flow, Row
from coach.ui.widgets.neck import FretboardView
from coach.ui.widgets.page import Page
from coach.ui.widgets.steps import StepMarks
from coach.ui.widgets.text import Words, quiet, sentence
from coach.ui.widgets.thread import PitchThread

ON_AFTER_S = {Phase.RIGHT: 2.5, Phase.MISSED: 5.0, Phase.PASSED: 1.5}
"""How long a result stays before the next drill; a miss is looked at longer (our own choice)."""
DEVICE_CHECK_S = 0.5
LOW_DP = 600
"""In a lower window the words stand closer, so that the whole neck is in sight."""
LOW_NECK_DP = 270


class DrillPage(Page):
    """Draws a drill once and then changes it in place, so that the thread runs on."""

    presenter: DrillPresenter
    edge_dp = 2 * SPACE_DP

    def __init__(self, context: ScreenContext, presenter: DrillPresenter) -> None:
        self._drawn: tuple[object, ...] = ()
        self._said: Words | None = None
        self._pause: Press | None = None
        self._answer: PitchThread | FretboardView | None = None
        self._next = Clock.create_trigger(lambda _passed: self.presenter.go_on(), 1.0)
        self._watch = Clock.schedule_interval(lambda _passed: presenter.check_device(), DEVICE_CHECK_S)
        super().__init__(context, presenter)

    @override
    def draw(self, value: DrillView) -> None:
        look = self.look
        self._drawn = _identity(value)
        self._said = Words(look, size_sp=TITLE_SP, bold=True)
        self._pause = None
        low = Window.height < dp(LOW_DP)
        self.put(self._low_neck_head(value) if low and value.neck is not None else self._head(value))
        match value.form:
            case AnswerForm.NAME:
                self.put(self._choices(value.choices))
            case AnswerForm.ONSETS:
                high = (1.5 if low else 2.5) * DRILL_TARGET_DP
                self.put(Press(look, "Tap here", self.presenter.tap, natural=False, target_dp=high))
            case AnswerForm.PLACES if value.neck is not None:
                self._answer = FretboardView(look, value.neck, self.presenter.touch)
                if low:
                    self._answer.size_hint_min_y = dp(LOW_NECK_DP)
                self.put(self._answer)
            case _:
                self._answer = PitchThread(look, self.presenter.ear, names=False)
                self.put(self._answer)
        self.source = self.presenter.levels
        self._follow(value)

    @override
    def keeps(self, value: DrillView) -> bool:
        if self._drawn != _identity(value) or self._said is None:
            return False
        self._follow(value)
        return True

    @override
    def show(self, view: PageView[DrillView]) -> None:
        self._next.cancel()
        if not isinstance(view, Ready):
            self._drawn, self._said, self._answer = (), None, None
            self.source = None
        super().show(view)

    @override
    def act_second(self) -> None:
        self.presenter.pass_by()

    @override
    def key(self, code: int, text: str, modifiers: Sequence[str]) -> bool:
        """P pauses, T taps a beat, a digit chooses a word."""
        view = self.presenter.view
        if not isinstance(view, Ready):
            return False
        choices = view.value.choices
        if text == "p":
            self._hold()
        elif text == "t":
            self.presenter.tap()
        elif text.isdecimal() and 1 <= int(text) <= len(choices) and not view.value.phase.over:
            self.presenter.give_name(choices[int(text) - 1])
        else:
            return False
        return True

    def _hold(self) -> None:
        """Nothing goes on by itself until the player says so."""
        self._next.cancel()
        self.presenter.pause()
        if self._pause is not None:
            self._pause.said = "Paused"

    def _head(self, value: DrillView) -> Column:
        look = self.look
        self._pause = Press(look, "Pause", self._hold, weight=Weight.QUIET)
        marks = Column(StepMarks(look, value.number, value.count), quiet(look, value.title), gap=0.5)
        return Column(Row(marks, self._pause), sentence(look, value.ask), self._said, gap=1)

    def _low_neck_head(self, value: DrillView) -> Column:
        marks = StepMarks(self.look, value.number, value.count)
        marks.size_hint_x = 0.6
        return Column(Row(marks, self._said), sentence(self.look, value.ask), gap=0.5)

    @override
    def closed(self) -> None:
        self._next.cancel()
        self._watch.cancel()
        super().closed()

    def _follow(self, value: DrillView) -> None:
        """Everything that changes while one drill is on."""
        theme = self.look.theme
        if self._said is not None:
            colours = {Phase.RIGHT: theme.good, Phase.MISSED: theme.caution}
            self._said.tint(colours.get(value.phase, theme.text))
            self._said.said = f"✓ {value.said}" if value.phase is Phase.RIGHT else value.said
        if isinstance(self._answer, PitchThread) and value.still is not None:
            self._answer.source = value.still
            self._answer.names = True
            self._answer.targets(value.targets)
        if isinstance(self._answer, FretboardView) and value.neck is not None:
            self._answer.show(value.neck)
        if self._pause is not None:
            self._pause.said = "Paused" if value.phase is Phase.PAUSED else "Pause"
        again = "Go on" if value.phase is Phase.PAUSED else "Hear it again"
        self.action = "Next" if value.phase.over else again
        self.second = "" if value.phase.over else "Let it pass"
        if value.phase in ON_AFTER_S:
            self._next.timeout = ON_AFTER_S[value.phase]
            self._next()

    def _choices(self, words: tuple[str, ...]) -> Flow:
        presses = [Press(self.look, word, target_dp=DRILL_TARGET_DP) for word in words]
        for press in presses:
            press.pressed = self._giving(press.said)
        return Flow(*presses)

    def _giving(self, word: str) -> Callable[[], None]:
        return lambda: self.presenter.give_name(word)


def _identity(value: DrillView) -> tuple[object, ...]:
    """What makes two views the same drill; hearing it again draws it anew, so that the old answer goes."""
    return (value.number, value.ask, value.phase.over and value.form is AnswerForm.NAME)


def build(context: ScreenContext) -> Page:
    """The day's set, or one drill where ``about`` names it."""
    seed = int(context.services.clock.now().timestamp() * 1000)
    name = context.about.get("drill")
    return DrillPage(context, DrillPresenter(context.room, context.later, context.go, Random(seed), name))
