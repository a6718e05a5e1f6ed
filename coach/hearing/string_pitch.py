"""The pitch of one plucked string to a fraction of a cent, its stiffness taken into account.

Partials of a stiff string lie at f_n = n·f0·sqrt(1 + B·n²) (Fletcher 1964), so (f_n / n)² is a straight line
over n²: its value at 0 is f0². The coarse pitch is the first high peak of the normalised square difference
function (McLeod and Wyvill 2005).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ

WINDOW_SAMPLES = 4_096
"""256 ms: at E2 the Hann window's main lobe (4 bins of 3.9 Hz) is a fifth of the distance of two partials."""
_PADDED = 4 * WINDOW_SAMPLES
_LOWEST_HZ, _HIGHEST_HZ = 30.0, 1_000.0
_CLEAR = 0.80
_NEAR_BEST = 0.92
_PARTIALS = 14
_HIGHEST_PARTIAL_HZ = 5_000.0
_STIFFEST = 3e-4
"""Published B of guitar strings run from about 1e-5 (thin) to some 2e-4 (low wound)."""
_TRUST = 0.75
"""Exponent on a partial's strength in the fit; measured on recorded strings, whose bodies pull at some."""
_OCTAVE_CENTS = 50.0
_LEAST_EVEN, _ODD_POWER = 3, 1e-3
"""From so many partials on, with the odd ones 30 dB under all, the even ones are all there is of a pluck."""
_PARTIAL_FLOOR_DB = 45.0


@dataclass(frozen=True, slots=True)
class StringPitch:
    """The ideal fundamental f0 in Hz, the inharmonicity B, and clarity 0 to 1."""

    f0_hz: float
    inharmonicity: float
    clarity: float


def string_pitch(
    window: NDArray[np.float32], rate_hz: int = RATE_HZ, *, ringing_hz: float | None = None
) -> StringPitch | None:
    """Measure 256 ms of sound, shape (4096,); ``None`` where there is no clear pitch.

    ``ringing_hz`` is what the same pluck sounded a moment ago: in its tail the even partials may outlive the
    odd ones, and the octave is then no new note. Where two periods of a bright string fit whole samples
    better than one, no odd partial is found, and the pitch is an octave higher.
    """
    sound = window.astype(np.float64) - float(window.mean())
    coarse = _coarse(sound, rate_hz)
    if coarse is None:
        return None
    coarse_hz, clarity = coarse
    if ringing_hz is not None:
        off_cents = 1200.0 * abs(float(np.log2(coarse_hz / ringing_hz / 2.0)))
        coarse_hz = ringing_hz if off_cents < _OCTAVE_CENTS else coarse_hz
    magnitude = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), _PADDED))
    numbers, hz, weights = _partials(magnitude, coarse_hz, rate_hz)
    known = ringing_hz is not None and abs(float(np.log2(coarse_hz / ringing_hz))) < _OCTAVE_CENTS / 1200.0
    if not known and _only_even(numbers, weights):
        numbers, hz, weights = _partials(magnitude, 2.0 * coarse_hz, rate_hz)
    if len(numbers) == 0:
        return None
    f0_hz, stiffness = _line(numbers, hz, weights)
    return StringPitch(f0_hz, stiffness, clarity)


def _coarse(sound: NDArray[np.float64], rate_hz: int) -> tuple[float, float] | None:
    size = 2 * len(sound)
    spectrum = np.fft.rfft(sound, size)
    correlation = np.fft.irfft(np.abs(spectrum) ** 2, size)[: len(sound) // 2]
    squares = np.concatenate([[0.0], np.cumsum(sound**2)])
    lags = np.arange(len(sound) // 2)
    energy = squares[len(sound) - lags] + squares[-1] - squares[lags]
    likeness = 2.0 * correlation / np.maximum(energy, 1e-12)
    first = max(2, int(rate_hz / _HIGHEST_HZ))
    last = min(len(likeness) - 1, int(rate_hz / _LOWEST_HZ))
    inside = likeness[first:last]
    negative = np.flatnonzero(likeness[:last] < 0.0)
    peaks = np.flatnonzero((inside[1:-1] >= inside[:-2]) & (inside[1:-1] > inside[2:])) + 1 + first
    peaks = peaks[peaks > negative[0]] if len(negative) else peaks[:0]
    if len(peaks) == 0 or likeness[peaks].max() < _CLEAR:
        return None
    best = float(likeness[peaks].max())
    lag = int(peaks[np.flatnonzero(likeness[peaks] >= _NEAR_BEST * best)[0]])
    return rate_hz / (lag + _parabola(likeness, lag)), min(1.0, float(likeness[lag]))


def _partials(
    magnitude: NDArray[np.float64], coarse_hz: float, rate_hz: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Partials found one by one upwards, each looked for where those before it let it be expected."""
    bin_hz = rate_hz / _PADDED
    logs = np.log(magnitude + 1e-12)
    floor = float(logs.max()) - _PARTIAL_FLOOR_DB / 8.686
    numbers: list[float] = []
    hz: list[float] = []
    strengths: list[float] = []
    base_hz, stiffness = coarse_hz, 0.0
    for number in range(1, _PARTIALS + 1):
        expected = number * base_hz * np.sqrt(1.0 + stiffness * number**2)
        if expected > _HIGHEST_PARTIAL_HZ:
            break
        reach = max(3, round(0.25 * base_hz / bin_hz)) if number <= 3 else round(0.12 * base_hz / bin_hz)
        middle = round(expected / bin_hz)
        first = max(1, middle - reach)
        at = first + int(np.argmax(logs[first : middle + reach + 1]))
        if logs[at] < floor or logs[at] < logs[at - 1] or logs[at] < logs[at + 1]:
            continue
        numbers.append(float(number))
        hz.append((at + _parabola(logs, at)) * bin_hz)
        strengths.append(float(np.exp(logs[at])))
        base_hz, stiffness = _line(np.asarray(numbers), np.asarray(hz), np.asarray(strengths))
    return np.asarray(numbers), np.asarray(hz), np.asarray(strengths)


def _only_even(numbers: NDArray[np.float64], strengths: NDArray[np.float64]) -> bool:
    odd = numbers % 2 == 1
    if len(numbers) < _LEAST_EVEN or odd.all():
        return False
    return float((strengths[odd] ** 2).sum()) < _ODD_POWER * float((strengths**2).sum())


def _line(
    numbers: NDArray[np.float64], hz: NDArray[np.float64], strengths: NDArray[np.float64]
) -> tuple[float, float]:
    """Weighted least squares of (f_n/n)² over n²; strays are taken out one by one."""
    keep = np.ones(len(numbers), bool)
    while True:
        x, y = numbers[keep] ** 2, (hz[keep] / numbers[keep]) ** 2
        weights = strengths[keep] ** _TRUST * numbers[keep]
        intercept, slope = _fit(x, y, weights)
        if keep.sum() < 4:
            break
        model = numbers * np.sqrt(np.maximum(intercept + slope * numbers**2, 1.0))
        off_cents = 1200.0 * np.abs(np.log2(hz / model)) * keep
        worst = int(np.argmax(off_cents))
        if off_cents[worst] < 6.0:
            break
        keep[worst] = False
    return float(np.sqrt(intercept)), float(slope / intercept)


def _fit(x: NDArray[np.float64], y: NDArray[np.float64], weights: NDArray[np.float64]) -> tuple[float, float]:
    mean_x, mean_y = np.average(x, weights=weights), np.average(y, weights=weights)
    spread = np.average((x - mean_x) ** 2, weights=weights)
    slope = 0.0
    if len(x) >= 3 and spread > 0.0:
        slope = float(np.average((x - mean_x) * (y - mean_y), weights=weights) / spread)
    slope = min(max(slope, 0.0), _STIFFEST * float(mean_y))
    return float(mean_y - slope * mean_x), slope


def _parabola(values: NDArray[np.float64], at: int) -> float:
    """Offset of the top of the parabola through a peak and its neighbours, -0.5 to 0.5."""
    left, middle, right = float(values[at - 1]), float(values[at]), float(values[at + 1])
    bend = left - 2.0 * middle + right
    return 0.0 if bend == 0.0 else float(np.clip(0.5 * (left - right) / bend, -0.5, 0.5))
