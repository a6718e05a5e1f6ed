"""Onsets: where a pluck, a clap or a tap begins, as a stream.

Spectral flux on a logarithmic filter bank with a maximum filter over neighbouring bands (Böck and Widmer
2013), so that vibrato is no onset, against a threshold that follows the recent past.
"""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ

WINDOW_SAMPLES = 1_024
"""64 ms: measured against 32 ms, 99 % of low and soft notes are found with a tenth of the false onsets."""
HOP_SAMPLES = 128
"""8 ms."""
_HOP_S = HOP_SAMPLES / RATE_HZ
_BANDS_PER_OCTAVE = 24
_LOWEST_HZ, _HIGHEST_HZ = 70.0, 7_500.0
_COMPRESSION = 150.0
"""Gain before the logarithm over the loudest recent band: what lies 44 dB below it hardly counts."""
_LOUDEST_AT_START, _LOUDEST_AT_LEAST = 0.02, 0.003
"""The loudest band (linear) before anything was heard, and in silence, whose noise must not be raised."""
_FORGET = 10.0 ** (-1.5 * HOP_SAMPLES / RATE_HZ / 20.0)
"""The loudest band is forgotten by 1.5 dB a second."""
_LAG_HOPS = 4
"""Each spectrum is compared with the one half a window before."""
_SETTLING_HOPS = WINDOW_SAMPLES // HOP_SAMPLES + _LAG_HOPS
"""Until here the window still holds the silence before the first sample: any room would be an onset."""
_PAST_HOPS = 64
"""The threshold looks back half a second."""
CLEAR_STRENGTH = 0.12
"""Onsets from here on are strokes that a player meant; steady noise does not reach it."""
SLIGHT_STRENGTH = 0.05
"""Onsets from here on are worth a closer look; steady noise reaches it now and then."""
_OVER_SPREAD = 2.5
"""The threshold lies over the median of the past by so many median deviations."""
_APART_S = 0.05
"""Two onsets closer than this are one: faster than any repeated pluck a learner plays."""
_BACK_S = 0.009
"""The flux peaks this long after the attack lies in the middle of the window; measured on known onsets."""


@dataclass(frozen=True, slots=True)
class Onset:
    """A beginning: when, in seconds, and how strong (mean rise over the bands, natural logarithm)."""

    time_s: float
    strength: float


class OnsetDetector:
    """Finds onsets in a 16 kHz stream about 50 ms after they happen.

    Parameters
    ----------
    least_strength
        How far the mean rise over all bands (natural logarithm) must lie over the threshold of the past.
    """

    def __init__(self, least_strength: float = CLEAR_STRENGTH) -> None:
        self._least = least_strength
        self._held = np.zeros(WINDOW_SAMPLES - HOP_SAMPLES, np.float32)
        self._taper = np.hanning(WINDOW_SAMPLES + 1)[:-1].astype(np.float32) * (4.0 / WINDOW_SAMPLES)
        self._bins, self._weights, self._firsts = _filter_bank()
        self._bands: deque[NDArray[np.float64]] = deque(maxlen=_LAG_HOPS + 1)
        self._flux: deque[float] = deque([0.0] * 3, maxlen=_PAST_HOPS + 2)
        self._hops = 0
        self._loudest = _LOUDEST_AT_START
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
        magnitude = np.abs(np.fft.rfft(window * self._taper))
        bands = np.add.reduceat(magnitude[self._bins] * self._weights, self._firsts)
        self._bands.append(bands)
        self._loudest = max(self._loudest * _FORGET, _LOUDEST_AT_LEAST, float(bands.max()))
        compression = _COMPRESSION / self._loudest
        now = np.log1p(compression * bands)
        before = np.log1p(compression * self._bands[0])
        widest = before.copy()
        np.maximum(widest[1:], before[:-1], out=widest[1:])
        np.maximum(widest[:-1], before[1:], out=widest[:-1])
        self._flux.append(float(np.maximum(now - widest, 0.0).mean()))
        self._hops += 1
        return self._peak()

    def _peak(self) -> Onset | None:
        """An onset if the flux one hop ago was a peak over its past."""
        earlier, peak, after = self._flux[-3], self._flux[-2], self._flux[-1]
        if peak < earlier or peak <= after or peak < self._least:
            return None
        past = np.asarray(self._flux)[:-2]
        median = float(np.median(past))
        strength = peak - median - _OVER_SPREAD * float(np.median(np.abs(past - median)))
        time_s = max(0.0, (self._hops - 1) * _HOP_S - WINDOW_SAMPLES / 2 / RATE_HZ - _BACK_S)
        if self._hops <= _SETTLING_HOPS or strength < self._least or time_s - self._last_s < _APART_S:
            return None
        self._last_s = time_s
        return Onset(time_s, strength)


def _filter_bank() -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.intp]]:
    """Triangles on a logarithmic axis, at least one bin wide, each of sum 1.

    Of the weights only those that are not 0 are given, band after band: their bins, themselves, and at
    which of them each band begins.
    """
    bin_hz = RATE_HZ / WINDOW_SAMPLES
    count = int(np.log2(_HIGHEST_HZ / _LOWEST_HZ) * _BANDS_PER_OCTAVE)
    centres = [_LOWEST_HZ / bin_hz]
    for number in range(1, count + 1):
        centre = _LOWEST_HZ * 2.0 ** (number / _BANDS_PER_OCTAVE) / bin_hz
        if centre - centres[-1] >= 1.0:
            centres.append(centre)
    edges = np.asarray(centres)[:, np.newaxis]
    bins = np.arange(WINDOW_SAMPLES // 2 + 1)[np.newaxis, :]
    rising = (bins - edges[:-2]) / (edges[1:-1] - edges[:-2])
    falling = (edges[2:] - bins) / (edges[2:] - edges[1:-1])
    triangles = np.maximum(np.minimum(rising, falling), 0.0)
    triangles /= triangles.sum(axis=1, keepdims=True)
    bands, bins_used = np.nonzero(triangles)
    return bins_used, triangles[bands, bins_used], np.flatnonzero(np.diff(bands, prepend=-1))
