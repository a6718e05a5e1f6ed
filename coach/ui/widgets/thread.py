"""The pitch thread: the player's own pitch over time, drawn as it sounds; the target joins it afterwards."""

from collections.abc import Sequence
from statistics import median
from typing import Protocol

from kivy.clock import Clock
from kivy.graphics import InstructionGroup, Line, Rectangle, SmoothLine
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.hearing.frames import F0Frame
from coach.music.naming import screen_name
from coach.music.pitch import Pitch
from coach.music.tuning_system import A4_HZ
from coach.ui.drawing import backdrop, paint, type_px, write
from coach.ui.presenters.drawn import SHOWN_S, Target, threads
from coach.ui.theme import MARK_SP, Look

SPAN_SEMITONES = 9.0
"""Height of the drawing; the window follows the pitch when it leaves it."""
MOST_RUNS = 40
HEAD_DP = 52
"""Room for the note names at the left."""


class ThreadSource(Protocol):
    """Whoever listens: a `Listener` is one."""

    @property
    def heard_s(self) -> float:
        """The listener's time now, in s."""
        ...

    def frames_since(self, time_s: float) -> Sequence[F0Frame]:
        """Frames from a moment of that time on."""
        ...


class PitchThread(Widget):
    """Shows the last seconds of a `ThreadSource`; still while there is none.

    Parameters
    ----------
    a4_hz
        The tuning that note numbers refer to.
    names
        Whether the lines are named: off where the name would be the answer.
    """

    def __init__(
        self, look: Look, source: ThreadSource | None, *, a4_hz: float = A4_HZ, names: bool = True
    ) -> None:
        self._clock = Clock.create_trigger(self.look_up, 0, interval=True)
        super().__init__(size_hint_y=1, size_hint_min_y=dp(180))
        backdrop(self, look.theme.surface, radius_dp=16)
        self.look, self.source, self.a4_hz, self.names = look, source, a4_hz, names
        self.middle = 60.0
        self._targets: tuple[Target, ...] = ()
        self._ruler, self._goal = InstructionGroup(), InstructionGroup()
        self.canvas.add(self._ruler)
        self.canvas.add(self._goal)
        self.canvas.add(paint(look.theme.voice))
        self._runs = [SmoothLine(width=dp(2.2), cap="round", joint="round") for _ in range(MOST_RUNS)]
        for run in self._runs:
            self.canvas.add(run)
        self._lay = Clock.create_trigger(self._lay_now, -1)
        self.bind(pos=self._lay, size=self._lay)

    def targets(self, targets: Sequence[Target]) -> None:
        """Let the answer's true place join the thread; none takes it away."""
        self._targets = tuple(targets)
        if self._targets:
            self.middle = median(target.midi for target in self._targets)
        self._lay()

    def on_parent(self, _widget: object, parent: Widget | None) -> None:
        """Follow only while shown."""
        if parent is None:
            self._clock.cancel()
        else:
            self._clock()

    def look_up(self, _passed_s: float = 0.0) -> None:
        """Take the frames of now. Only points change; nothing is made anew."""
        source = self.source
        if source is None or self.width <= dp(HEAD_DP):
            return
        now_s = source.heard_s
        runs = threads(source.frames_since(now_s - SHOWN_S), self.a4_hz)[-MOST_RUNS:]
        if runs and not self._targets:
            self._follow(runs[-1][-1][1])
        for index, line in enumerate(self._runs):
            points: list[float] = []
            for time_s, midi in runs[index] if index < len(runs) else ():
                points += [self.x_of(time_s, now_s), self.y_of(midi)]
            if points or line.points:
                line.points = points

    def x_of(self, time_s: float, now_s: float) -> float:
        """Where a moment lies: now is at the right."""
        left = self.x + dp(HEAD_DP)
        return float(left + (self.right - dp(16) - left) * (1.0 - (now_s - time_s) / SHOWN_S))

    def y_of(self, midi: float) -> float:
        """Where a pitch lies, kept inside the drawing."""
        share = (midi - self.middle) / SPAN_SEMITONES
        return float(self.center_y + min(0.47, max(-0.47, share)) * self.height)

    def _follow(self, midi: float) -> None:
        """Move the window by whole semitones, and only when the pitch leaves its inner part."""
        if abs(midi - self.middle) > SPAN_SEMITONES * 0.38:
            self.middle = round(midi)
            self._lay()

    def _lay_now(self, *_: object) -> None:
        group, theme = self._ruler, self.look.theme
        group.clear()
        low, high = self.middle - SPAN_SEMITONES * 0.46, self.middle + SPAN_SEMITONES * 0.46
        px = type_px(self.look, MARK_SP)
        named_y = float("-inf")
        for midi in range(int(low) + 1, int(high) + 1):
            y = self.y_of(midi)
            group.add(paint(theme.outline, 0.35))
            group.add(Line(points=[self.x + dp(HEAD_DP), y, self.right - dp(16), y], width=dp(0.7)))
            if (
                self.names
                and y - named_y >= 1.15 * px
                and abs(y - self.center_y) < self.height / 2 - 0.6 * px
            ):
                named_y = y
                name = screen_name(Pitch.from_midi(midi), self.look.naming)
                write(group, name, (self.x + dp(14), y), px=px, colour=theme.quiet, anchor=(0, 0.5))
        self._lay_goal()
        self.look_up()

    def _lay_goal(self) -> None:
        group, theme = self._goal, self.look.theme
        group.clear()
        now_s = self.source.heard_s if self.source is not None else SHOWN_S
        half = self.height / SPAN_SEMITONES / 2
        for target in self._targets:
            left = max(self.x + dp(HEAD_DP), self.x_of(target.from_s, now_s))
            right = min(self.right - dp(16), max(left + dp(40), self.x_of(target.to_s, now_s)))
            y = self.y_of(target.midi)
            group.add(paint(theme.good, 0.28))
            group.add(Rectangle(pos=(left, y - half), size=(right - left, 2 * half)))
            group.add(paint(theme.good))
            group.add(Line(points=[left, y, right, y], width=dp(1.2)))
