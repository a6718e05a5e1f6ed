"""The last second of sound, and what can be measured in it after the fact."""

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ
from coach.hearing.fresh import Fresh, fresh_sound, pieces

_KEPT_S = 1.0
_WINDOW_SAMPLES = 768
_PARTIALS = 6
_HIGHEST_HZ = 6_000.0
FLOOR_DB = -100.0


class SoundMemory:
    """Keeps the last second of a 16 kHz stream."""

    def __init__(self, a4_hz: float) -> None:
        self._a4_hz = a4_hz
        self._held = np.zeros(0, np.float32)
        self._end = 0
        self._taper = np.hanning(_WINDOW_SAMPLES + 2)[1:-1]
        self._time = (np.arange(_WINDOW_SAMPLES) - _WINDOW_SAMPLES / 2) / RATE_HZ

    def push(self, samples: NDArray[np.float32]) -> None:
        """Take the next samples, shape (n,)."""
        self._end += len(samples)
        self._held = np.concatenate([self._held, samples])[-round(_KEPT_S * RATE_HZ) :]

    def fresh(self, onset_s: float) -> Fresh | None:
        """What is new after an onset; ``None`` until enough sound has followed it."""
        found = pieces(self._held, (self._end - len(self._held)) / RATE_HZ, onset_s)
        return None if found is None else fresh_sound(*found, self._a4_hz)

    def partials_db(self, f0_hz: float, at_s: float) -> float:
        """Summed power of the first six partials in the 48 ms around a moment, in dB re full scale."""
        piece = self._piece(at_s)
        if piece is None:
            return FLOOR_DB
        count = max(1, min(_PARTIALS, int(_HIGHEST_HZ / f0_hz)))
        turns = np.exp(-2j * np.pi * f0_hz * np.arange(1, count + 1)[:, np.newaxis] * self._time)
        power = float((np.abs(turns @ (piece * self._taper)) ** 2).sum()) / _WINDOW_SAMPLES**2
        return max(FLOOR_DB, 10.0 * float(np.log10(power + 1e-12)))

    def level_db(self, at_s: float) -> float:
        """Level of all sound in the 48 ms around a moment, in dB re full scale."""
        piece = self._piece(at_s)
        if piece is None:
            return FLOOR_DB
        return max(FLOOR_DB, 10.0 * float(np.log10(np.mean(piece**2) + 1e-12)))

    def _piece(self, at_s: float) -> NDArray[np.float64] | None:
        first = round(at_s * RATE_HZ) - _WINDOW_SAMPLES // 2 - (self._end - len(self._held))
        if first + _WINDOW_SAMPLES > len(self._held) or first + _WINDOW_SAMPLES <= 0:
            return None
        piece = self._held[max(0, first) : first + _WINDOW_SAMPLES].astype(np.float64)
        return np.concatenate([np.zeros(_WINDOW_SAMPLES - len(piece)), piece])
