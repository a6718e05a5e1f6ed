"""Whether the room talks: speech is told from singing and playing by how its pitch moves.

Speech glides all the time, a sung or plucked note stays: from one 16 ms frame to the next the pitch of speech
moves by 7 to 25 cents in the median of a second, that of a guitar by 1 to 5, of a singing voice by 2 to 11
(measured on synthetic speech in four languages, rendered guitars and synthetic song).
"""

from collections import deque

import numpy as np

from coach.hearing.frames import FRAME_S, F0Frame

_SURE = 0.5
_LEAP_CENTS = 80.0
"""A larger step is another note or an error, no glide."""
_KEPT_STEPS = 100
_LEAST_STEPS = 50
_TALK_CENTS = 9.0
_CALM_CENTS = 4.0
_LATEST_STEPS = 60
_TOLD_FOR_S = 8.0
"""A pause in the talk of up to this long does not end it."""
_LONGEST_SYLLABLE_S = 0.45
"""A voice that holds on longer than this in the middle of its runs is singing."""
_KEPT_RUNS = 9


class RoomTalks:
    """Follows the frames of a stream and tells whether someone speaks."""

    def __init__(self) -> None:
        self._steps: deque[float] = deque(maxlen=_KEPT_STEPS)
        self._runs: deque[int] = deque(maxlen=_KEPT_RUNS)
        self._run = 0
        self._last: F0Frame | None = None
        self._heard_s = 0.0
        self.talking = False
        """Whether the room talks now."""

    def push(self, frames: tuple[F0Frame, ...]) -> bool:
        """Take the next frames; give whether the room talks."""
        for frame in frames:
            self._frame(frame)
        return self.talking

    def _frame(self, frame: F0Frame) -> None:
        last, self._last = self._last, frame
        if frame.f0_hz is None or frame.confidence < _SURE:
            if self._run > 1:
                self._runs.append(self._run)
            self._run = 0
            if self.talking and frame.time_s - self._heard_s > _TOLD_FOR_S:
                self._forget()
            return
        self._run += 1
        self._heard_s = frame.time_s
        if self._run > 1 and last is not None and last.f0_hz is not None:
            step = 1200.0 * abs(float(np.log2(frame.f0_hz / last.f0_hz)))
            if step <= _LEAP_CENTS:
                self._steps.append(step)
                self._judge()

    def _judge(self) -> None:
        if len(self._steps) < _LEAST_STEPS:
            return
        steps = np.asarray(self._steps)
        if self.talking:
            if float(np.median(steps[-_LATEST_STEPS:])) < _CALM_CENTS:
                self._forget()
            return
        runs = [*self._runs, self._run]
        short = float(np.median(runs)) * FRAME_S <= _LONGEST_SYLLABLE_S
        self.talking = short and float(np.median(steps)) >= _TALK_CENTS

    def _forget(self) -> None:
        self.talking = False
        self._steps.clear()
        self._runs.clear()
