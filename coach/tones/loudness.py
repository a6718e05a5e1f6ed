"""Loudness: tones are matched by A-weighted level, and kept under the peak."""

import math

import numpy as np
from numpy.typing import NDArray

from coach.tones.instruments import Audio

PEAK = 10.0 ** (-6.1 / 20.0)
"""No prompt goes over -6 dBFS (a tenth under, for rounding in 16 bits)."""
NOTE_PEAK = 0.4
"""One note alone stays under this, so that chords seldom need to be turned down."""
_TARGET_RMS = 0.035
"""A-weighted level at which all notes are matched; chosen so that low notes meet it under `NOTE_PEAK`."""
_JUDGED_S = 0.4
"""Loudness of a dying tone is judged on its beginning."""


def a_weighting(hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Gain of A-weighting at given frequencies, 1 at 1 kHz (IEC 61672-1, annex E)."""
    square = hz * hz
    numerator = 12194.0**2 * square * square
    denominator = (
        (square + 20.6**2) * np.sqrt((square + 107.7**2) * (square + 737.9**2)) * (square + 12194.0**2)
    )
    return np.asarray(numerator / denominator * 10.0 ** (2.0 / 20.0))


def weighted_rms(samples: NDArray[np.float32], rate_hz: int) -> float:
    """A-weighted root mean square of mono samples, shape (n,); by Parseval over the whole stretch."""
    spectrum = np.fft.rfft(samples.astype(np.float64))
    bins_hz = np.asarray(np.fft.rfftfreq(len(samples), 1.0 / rate_hz), np.float64)
    weighted = np.abs(spectrum * a_weighting(bins_hz)) ** 2
    return math.sqrt(2.0 * float(weighted.sum())) / len(samples)


def matched(note: Audio, rate_hz: int) -> Audio:
    """A note at the common loudness (its first 0.4 s count), under `NOTE_PEAK`."""
    level = weighted_rms(note[: round(_JUDGED_S * rate_hz)], rate_hz)
    gain = min(_TARGET_RMS / max(level, 1e-9), NOTE_PEAK / max(1e-9, float(np.abs(note).max())))
    return np.asarray(note * gain, np.float32)


def under_peak(samples: Audio) -> Audio:
    """The whole sound turned down, if need be, until its peak lies under -6 dBFS; never clipped."""
    peak = float(np.abs(samples).max(initial=0.0))
    return samples if peak <= PEAK else np.asarray(samples * (PEAK / peak), np.float32)
