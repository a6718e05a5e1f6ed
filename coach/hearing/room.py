"""Whether the room talks: speech is told from singing and playing by how its pitch moves.

Speech glides all the time, a sung or plucked note stays where it is or swings around it. From one 16 ms
frame to the next the pitch of speech moves by 9 to 37 cents in the median, that of a guitar by 1 to 5, and a
voice with vibrato may move as fast as speech. But averaged over one swing a note holds still, and speech does
not: of its voiced time 2 % is held, of song a third to a half (measured on recorded announcements in five
languages, synthetic speech in four, recorded voices made to sing, and rendered guitars).
"""

import math
from collections import deque
from statistics import median

from coach.hearing.frames import FRAME_S, F0Frame

_SURE = 0.5
"""A frame less sure of its pitch breaks the run, as one without a pitch does."""
_LEAP_CENTS = 80.0
"""A larger step is another note or an error, no glide."""
_SWING_FRAMES = 11
"""0.18 s, one swing of a vibrato of 5.7 Hz; half a swing more or less leaves a third of it, at most."""
_HOLD_FRAMES = 6
_HELD_CENTS = 40.0
"""A pitch that, averaged over a swing, keeps within this for a tenth of a second, is held."""
_KEPT_FRAMES, _LEAST_FRAMES = 100, 75
"""The last voiced frames are judged, 1.6 s of them, and as soon as there are so many."""
_TALK_CENTS, _TALK_HELD = 9.0, 0.08
"""It is talk where the pitch moves by so much from frame to frame and hardly any of it is held."""
_CALM_CENTS, _CALM_HELD, _LATEST_FRAMES = 4.0, 0.5, 60
"""It is over where, of the last so many frames, the pitch moves less or half is held."""
_TOLD_FOR_S = 8.0
"""A pause in the talk of up to this long does not end it."""
_LONGEST_SYLLABLE_S = 0.23
"""A voice that mostly goes on for longer than this without a leap or a break is singing."""
_KEPT_RUNS = 9
"""Runs without a leap or a break whose median is taken for a syllable."""


class RoomTalks:
    """Follows the frames of a stream and tells whether someone speaks."""

    def __init__(self) -> None:
        self._steps: deque[float] = deque(maxlen=_KEPT_FRAMES)
        self._held: deque[bool] = deque(maxlen=_KEPT_FRAMES)
        self._runs: deque[int] = deque(maxlen=_KEPT_RUNS)
        self._run = 0
        self._cents: deque[float] = deque(maxlen=_SWING_FRAMES + _HOLD_FRAMES - 1)
        self._heard_s = 0.0
        self.talking = False
        """Whether the room talks now."""

    def push(self, frames: tuple[F0Frame, ...]) -> bool:
        """Take the next frames; give whether the room talks."""
        for frame in frames:
            self._frame(frame)
        return self.talking

    def _frame(self, frame: F0Frame) -> None:
        if frame.f0_hz is None or frame.confidence < _SURE:
            self._break()
            if self.talking and frame.time_s - self._heard_s > _TOLD_FOR_S:
                self._forget()
            return
        self._heard_s = frame.time_s
        cents = 1200.0 * math.log2(frame.f0_hz)
        if self._cents:
            step = abs(cents - self._cents[-1])
            if step > _LEAP_CENTS:
                self._break()
            else:
                self._steps.append(step)
        self._cents.append(cents)
        self._run += 1
        self._held.append(self._holds())
        self._judge()

    def _break(self) -> None:
        if self._run > 1:
            self._runs.append(self._run)
        self._run = 0
        self._cents.clear()

    def _holds(self) -> bool:
        if len(self._cents) < _SWING_FRAMES + _HOLD_FRAMES - 1:
            return False
        cents = list(self._cents)
        sums = [sum(cents[first : first + _SWING_FRAMES]) for first in range(_HOLD_FRAMES)]
        return (max(sums) - min(sums)) / _SWING_FRAMES < _HELD_CENTS

    def _judge(self) -> None:
        if len(self._held) < _LEAST_FRAMES or not self._steps:
            return
        if self.talking:
            held = list(self._held)[-_LATEST_FRAMES:]
            calm = median(list(self._steps)[-_LATEST_FRAMES:]) < _CALM_CENTS
            if calm or sum(held) >= _CALM_HELD * len(held):
                self._forget()
            return
        # The cheapest question first: this is asked sixty times a second, and almost always in vain.
        self.talking = (
            sum(self._held) < _TALK_HELD * len(self._held)
            and median([*self._runs, self._run]) * FRAME_S <= _LONGEST_SYLLABLE_S
            and median(self._steps) >= _TALK_CENTS
        )

    def _forget(self) -> None:
        self.talking = False
        self._steps.clear()
        self._held.clear()
        self._runs.clear()
