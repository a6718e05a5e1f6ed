"""The pitch of one plucked string to a fraction of a cent, its stiffness taken into account.

The coarse pitch is the first high peak of the autocorrelation divided by that of the window (Boersma 1993);
the fine one comes from the partials (see `string_partials`). What rang before the pluck is taken away first.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ
from coach.hearing.tuner.string_partials import Partials, find_partials, parabola

WINDOW_SAMPLES = 4_096
"""256 ms: at E2 the Hann window's main lobe (4 bins of 3.9 Hz) is a fifth of the distance of two partials."""
_PADDED = 4 * WINDOW_SAMPLES
_FINER = 4
"""The autocorrelation is drawn four times as fine as the samples: the period of E4 is 48.5 of them."""
_LOWEST_HZ, _HIGHEST_HZ = 50.0, 1_150.0
"""Fundamentals are looked for in between: from a slack sixth string to far above the open first one."""
_PASS_HZ, _STOP_HZ = 1_200.0, 2_400.0
"""The period is looked for in the low partials: stiffness and noise spoil the high ones."""
_CLEAR, _NEAR_BEST = 0.75, 0.92
"""A period repeats at least so well (1: exactly), and of those nearly as good as the best it is the first."""
_SAME_CENTS = 60.0
"""What rang a moment ago and has moved by more is no longer that."""
_MULTIPLES = (2, 3)
_LEAST_MULTIPLES, _OTHER_POWER = 2, 1e-3
"""With so many partials that are multiples of 2 or 3, all others 30 dB under them, they are all there is."""
_LEAST_OWN = 4
"""With so many partials of its own a string is measured by them, and not by those that rang before it."""
_LEAST_SHARE = 0.1
"""A string with less of the sound is no longer the one that is heard."""
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class StringPitch:
    """The ideal fundamental f0 in Hz, the inharmonicity B, and the power of the partials."""

    f0_hz: float
    inharmonicity: float
    power: float


def spectrum(window: NDArray[np.float32]) -> Array:
    """Magnitudes of a Hann window of sound, padded four times; shape (8193,) for 4096 samples."""
    sound = window.astype(np.float64) - float(window.mean())
    return np.abs(np.fft.rfft(sound * np.hanning(len(sound)), _PADDED))


def string_pitch(
    magnitude: Array, *, ringing_hz: float | None = None, before: Array | None = None
) -> StringPitch | None:
    """Measure 256 ms of sound at 16 kHz; ``None`` where there is no clear pitch.

    Parameters
    ----------
    magnitude
        The sound's `spectrum`.
    ringing_hz
        What the same pluck sounded a moment ago. In its tail the even partials may outlive the odd ones, and
        another string may ring louder: neither is a new note.
    before
        The `spectrum` of what rang before the pluck.
    """
    bin_hz = RATE_HZ / _PADDED
    if ringing_hz is not None:
        whole = _ringing(magnitude, bin_hz, ringing_hz, None)
        alone = None if before is None else _ringing(magnitude, bin_hz, ringing_hz, before)
        return whole if alone is None or whole is None else replace(alone, power=whole.power)
    coarse_hz = _coarse_hz(magnitude, bin_hz, before)
    if coarse_hz is None:
        return None
    partials, string = find_partials(magnitude, bin_hz, coarse_hz, before=before)
    for multiple in _MULTIPLES:
        if _only_multiples(partials, multiple):
            partials, string = find_partials(magnitude, bin_hz, multiple * coarse_hz, before=before)
    if len(partials.numbers) == 0:
        return None
    return StringPitch(string.f0_hz, string.inharmonicity, _power(partials))


def _ringing(magnitude: Array, bin_hz: float, ringing_hz: float, before: Array | None) -> StringPitch | None:
    """The string that sounded a moment ago, ``before`` its pluck left out where enough of it is left then."""
    partials, string = find_partials(magnitude, bin_hz, ringing_hz, before=before, tracked=True)
    share = _share(partials, magnitude, bin_hz)
    moved_cents = 1200.0 * abs(float(np.log2(string.f0_hz / ringing_hz)))
    least = 1 if before is None else _LEAST_OWN
    if len(partials.numbers) < least or share < _LEAST_SHARE or moved_cents >= _SAME_CENTS:
        return None
    return StringPitch(string.f0_hz, string.inharmonicity, _power(partials))


def _coarse_hz(magnitude: Array, bin_hz: float, before: Array | None) -> float | None:
    """The pitch by the period of what is new; ``None`` where it does not repeat well."""
    power = magnitude**2
    if before is not None:
        power = np.maximum(0.0, power - before**2)
    hz = np.arange(len(power)) * bin_hz
    power = power * np.clip((_STOP_HZ - hz) / (_STOP_HZ - _PASS_HZ), 0.0, 1.0)
    size = _FINER * _PADDED
    rate_hz = size * bin_hz
    correlation = np.fft.irfft(power, size)
    if correlation[0] <= 0.0:
        return None
    last = int(rate_hz / _LOWEST_HZ) + 2
    likeness = correlation[:last] / correlation[0] / _of_window(size)[:last]
    first = int(rate_hz / _HIGHEST_HZ)
    below = np.flatnonzero(likeness < 0.0)
    if len(below) == 0:
        return None
    inside = likeness[first:]
    peaks = np.flatnonzero((inside[1:-1] >= inside[:-2]) & (inside[1:-1] > inside[2:])) + 1 + first
    peaks = peaks[peaks > below[0]]
    if len(peaks) == 0 or likeness[peaks].max() < _CLEAR:
        return None
    best = float(likeness[peaks].max())
    lag = int(peaks[np.flatnonzero(likeness[peaks] >= _NEAR_BEST * best)[0]])
    return rate_hz / (lag + parabola(likeness, lag))


@cache
def _of_window(size: int) -> Array:
    taper = np.abs(np.fft.rfft(np.hanning(WINDOW_SAMPLES), _PADDED)) ** 2
    own = np.fft.irfft(taper, size)
    return np.asarray(own / own[0])


def _power(partials: Partials) -> float:
    return float((partials.strengths**2).sum())


def _share(partials: Partials, magnitude: Array, bin_hz: float) -> float:
    """How much of the sound below 2.4 kHz lies in the partials.

    A Hann window's noise bandwidth is 1.5 bins (Harris 1978): padded four times, a line holds the power of
    6 bins like its highest.
    """
    low = partials.hz < _STOP_HZ
    total = float((magnitude[: round(_STOP_HZ / bin_hz)] ** 2).sum())
    return min(1.0, 6.0 * float((partials.strengths[low] ** 2).sum()) / max(total, 1e-12))


def _only_multiples(partials: Partials, multiple: int) -> bool:
    others = partials.numbers % multiple != 0
    if (~others).sum() < _LEAST_MULTIPLES:
        return False
    powers = partials.strengths**2
    return float(powers[others].sum()) < _OTHER_POWER * float(powers.sum())
