"""Windows of sound for the tuner, none of them across an attack, each with what rang before its pluck."""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ
from coach.hearing.onsets import OnsetDetector
from coach.hearing.tuner.string_pitch import WINDOW_SAMPLES, spectrum

HOP_SAMPLES = 1_024
"""64 ms."""
_LATE_SAMPLES = 1_024
"""Onsets are told some 50 ms after they happen: so long is waited before a window is judged."""
_ATTACK_SAMPLES = 320
"""20 ms of every attack are left out: the plectrum's noise."""
_BEFORE_S = 1.5
"""What rang before is thought of for so long: later it has faded, or is the same string."""
_KEPT = 8


@dataclass(frozen=True, slots=True)
class PluckWindow:
    """One window.

    Parameters
    ----------
    at_s
        Its middle, seconds from the first sample.
    level
        Root mean square.
    magnitude
        Its `spectrum`.
    before
        The spectrum of what rang before the last attack; ``None`` where nothing did or long after it.
    attacks
        How many attacks there were so far: a knock is one, too.
    """

    at_s: float
    level: float
    magnitude: NDArray[np.float64]
    before: NDArray[np.float64] | None
    attacks: int


class PluckWindows:
    """Cuts a 16 kHz stream into windows of 256 ms, 16 a second."""

    def __init__(self) -> None:
        self._onsets = OnsetDetector()
        self._attacks: deque[int] = deque()
        self._held = np.zeros(0, np.float32)
        self._first = 0
        self._past: deque[tuple[int, NDArray[np.float64]]] = deque(maxlen=_KEPT)
        self._before: NDArray[np.float64] | None = None
        self._attack = 0
        self._count = 0

    def push(self, samples: NDArray[np.float32]) -> tuple[PluckWindow, ...]:
        """Take the next samples, shape (n,); the windows they complete."""
        self._attacks.extend(round(time_s * RATE_HZ) for time_s in self._onsets.push(samples))
        self._held = np.concatenate([self._held, samples.astype(np.float32, copy=False)])
        windows = []
        while len(self._held) >= WINDOW_SAMPLES + _LATE_SAMPLES:
            window = self._window(self._held[:WINDOW_SAMPLES])
            if window is not None:
                windows.append(window)
            self._held = self._held[HOP_SAMPLES:]
            self._first += HOP_SAMPLES
        return tuple(windows)

    def flush(self) -> tuple[PluckWindow, ...]:
        """The last windows, as if silence followed."""
        return self.push(np.zeros(_LATE_SAMPLES, np.float32))

    def _window(self, sound: NDArray[np.float32]) -> PluckWindow | None:
        begin, end = self._first, self._first + len(sound)
        while self._attacks and self._attacks[0] + _ATTACK_SAMPLES <= begin:
            self._struck(self._attacks.popleft())
        magnitude = spectrum(sound)
        self._past.append((end, magnitude))
        if self._attacks and self._attacks[0] < end:
            return None
        recent = begin - self._attack < _BEFORE_S * RATE_HZ
        level = float(np.sqrt(np.mean(sound**2)))
        before = self._before if recent else None
        return PluckWindow((begin + end) / 2 / RATE_HZ, level, magnitude, before, self._count)

    def _struck(self, attack: int) -> None:
        earlier = [magnitude for end, magnitude in self._past if end <= attack]
        self._before = earlier[-1] if earlier else None
        self._attack = attack
        self._count += 1
