"""Onsets: where a pluck, a clap or a tap begins, as a stream.

Spectral flux with a maximum filter over neighbouring bins (Böck and Widmer 2013), so that vibrato is no
onset, on logarithmic magnitudes, against a threshold that follows the recent past.
"""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ

WINDOW_SAMPLES = 512
HOP_SAMPLES = 128
_HOP_S = HOP_SAMPLES / RATE_HZ
_COMPRESSION = 3_000.0
"""Gain before the logarithm: what lies 70 dB under full scale hardly counts."""
_LAG_HOPS = 2
_PAST_HOPS = 60
"""The threshold looks back half a second."""
_LEAST_FLUX = 0.10
"""Mean rise over all bins, natural logarithm, under which nothing is an onset."""
_OVER_MEDIAN = 0.06
_OVER_SPREAD = 2.5
_APART_S = 0.05
"""Two onsets closer than this are one: faster than any repeated pluck a learner plays."""
_BACK_S = 0.004
"""The flux peaks this long after the attack lies in the middle of the window; measured on computed plucks."""


@dataclass(frozen=True, slots=True)
class Onset:
    """A beginning: when, in seconds, and how strong (mean rise over the spectrum, natural logarithm)."""

    time_s: float
    strength: float


class OnsetDetector:
    """Finds onsets in a 16 kHz stream about 30 ms after they happen."""

    def __init__(self) -> None:
        self._held = np.zeros(WINDOW_SAMPLES - HOP_SAMPLES, np.float32)
        self._taper = np.hanning(WINDOW_SAMPLES + 1)[:-1].astype(np.float32)
        self._spectra: deque[NDArray[np.float64]] = deque(maxlen=_LAG_HOPS + 1)
        self._flux: deque[float] = deque([0.0] * 3, maxlen=_PAST_HOPS)
        self._hops = 0
        self._last_s = -1.0

    def push(self, samples: NDArray[np.float32]) -> tuple[float, ...]:
        """Take the next samples, shape (n,); give the times in seconds of onsets found by now."""
        return tuple(onset.time_s for onset in self.found(samples))

    def found(self, samples: NDArray[np.float32]) -> tuple[Onset, ...]:
        """As `push`, with the strength of each."""
        self._held = np.concatenate([self._held, samples.astype(np.float32, copy=False)])
        onsets = []
        while len(self._held) >= WINDOW_SAMPLES:
            onset = self._hop(self._held[:WINDOW_SAMPLES])
            if onset is not None:
                onsets.append(onset)
            self._held = self._held[HOP_SAMPLES:]
        return tuple(onsets)

    def _hop(self, window: NDArray[np.float32]) -> Onset | None:
        magnitude = np.abs(np.fft.rfft(window * self._taper)) * (4.0 / WINDOW_SAMPLES)
        spectrum = np.log1p(_COMPRESSION * magnitude)
        self._spectra.append(spectrum)
        before = self._spectra[0]
        widest = np.maximum(before, np.maximum(np.r_[before[1:], 0.0], np.r_[0.0, before[:-1]]))
        self._flux.append(float(np.maximum(spectrum - widest, 0.0).mean()))
        self._hops += 1
        return self._peak()

    def _peak(self) -> Onset | None:
        """An onset if the flux one hop ago was a peak over its past."""
        earlier, peak, after = self._flux[-3], self._flux[-2], self._flux[-1]
        if peak < earlier or peak <= after or peak < _LEAST_FLUX:
            return None
        past = np.asarray(self._flux)[:-2]
        median = float(np.median(past))
        spread = float(np.median(np.abs(past - median)))
        if peak < median + _OVER_MEDIAN + _OVER_SPREAD * spread:
            return None
        centre_s = (self._hops - 1) * _HOP_S - WINDOW_SAMPLES / 2 / RATE_HZ
        time_s = max(0.0, centre_s - _BACK_S)
        if time_s - self._last_s < _APART_S:
            return None
        self._last_s = time_s
        return Onset(time_s, peak)
