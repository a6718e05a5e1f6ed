"""The partials of one plucked string, and the stiff string that fits them best.

Partials of a stiff string lie at f_n = n·f0·sqrt(1 + B·n²) (Fletcher 1964). What is fitted are their
cents over n·f0, by weighted least squares with two unknowns; strays (another string's partial, one that the
guitar's body pulls at) lose their weight by Tukey's biweight (Beaton and Tukey 1974).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MOST_PARTIALS = 24
"""No higher ones are looked for."""
_HIGHEST_PARTIAL_HZ = 6_400.0
"""Above 6.8 kHz the decimated sound holds no more."""
_ABOVE_FLOOR = 3.2
"""A peak is a partial from 10 dB over what lies around it; in noise alone three in four peaks are lower."""
_BELOW_TOP_DB = 55.0
"""A peak further under the strongest is no partial."""
_REACH, _REACH_TRACKED, _REACH_PREDICTED = 0.2, 0.06, 0.05
"""How far from where it is expected a partial may lie, in parts of f0."""
_FREE_PARTIALS = 2
"""With more than these the fit so far tells where the next one lies."""
_MASKED = 0.1
"""A peak of which a tenth of the power (-10 dB) rang before the pluck is moved by it: it is left out."""
_BODY_CENTS = 1.0
"""So far the body of a guitar moves single partials; measured on recorded strings."""
_PEAK_BINS = 0.55
"""Error of a peak in bins where signal and noise are alike (Rife and Boorstyn 1974)."""
_USUAL_B, _SPREAD_B = 5e-5, 1e-4
"""Published B of guitar strings run from about 1e-5 (thin) to some 2e-4 (low wound): what is taken where few
partials tell, and how lightly."""
_STIFFEST = 1e-3
"""No string is stiffer: a fit beyond it went astray."""
_BIWEIGHT = 4.685
"""Tukey's constant for 95 % efficiency on normal errors, in standard deviations."""
_PASSES, _PASSES_ON_THE_WAY, _REFITTED = 6, 2, 6
"""Rounds of the fit, and of one while partials are still being found: after each of the first so many, then
after every fourth."""
_CENTS_OF_B = 600.0 / np.log(2.0)
"""Cents per unit of n²B, where it is small: 1200 log2(sqrt(1 + n²B))."""
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Partials:
    """Partials found: their numbers, frequencies, amplitudes, and amplitudes over the floor beside them."""

    numbers: Array
    hz: Array
    strengths: Array
    clear: Array


@dataclass(frozen=True, slots=True)
class StiffString:
    """The string that fits: ideal fundamental f0 in Hz and inharmonicity B."""

    f0_hz: float
    inharmonicity: float

    def partial_hz(self, number: float) -> float:
        """Where its partial of this number sounds (Fletcher 1964)."""
        return float(number * self.f0_hz * np.sqrt(1.0 + self.inharmonicity * number**2))


def find_partials(
    magnitude: Array, bin_hz: float, coarse_hz: float, *, before: Array | None = None, tracked: bool = False
) -> tuple[Partials, StiffString]:
    """Look for partials one by one upwards, each where those before it let it be expected.

    Parameters
    ----------
    magnitude
        Spectrum of a Hann window, padded four times, shape (bins,).
    bin_hz
        Distance of its bins.
    coarse_hz
        The fundamental, to about a quarter tone.
    before
        The spectrum of what rang before the pluck, ``None`` where nothing did.
    tracked
        Whether ``coarse_hz`` is known from the moment before.
    """
    top = float(magnitude.max())
    least = top * 10.0 ** (-_BELOW_TOP_DB / 20.0)
    rows: list[tuple[float, float, float, float]] = []
    string = StiffString(coarse_hz, _USUAL_B)
    resolution_hz = 4.0 * bin_hz
    for number in range(1, MOST_PARTIALS + 1):
        expected_hz = string.partial_hz(number)
        if expected_hz > _HIGHEST_PARTIAL_HZ:
            break
        reach = _REACH_PREDICTED if len(rows) > _FREE_PARTIALS else _REACH_TRACKED if tracked else _REACH
        found = _peak(magnitude, expected_hz / bin_hz, max(3.0, reach * coarse_hz / bin_hz))
        if found is None or (before is not None and _masked(magnitude, before, round(found))):
            continue
        at = round(found)
        floor = _floor(magnitude, at, coarse_hz / bin_hz)
        if magnitude[at] < max(least, _ABOVE_FLOOR * floor):
            continue
        rows.append((float(number), found * bin_hz, float(magnitude[at]), float(magnitude[at] / floor)))
        if len(rows) <= _REFITTED or len(rows) % 4 == 0:
            string = fit(_columns(rows), coarse_hz, resolution_hz, passes=_PASSES_ON_THE_WAY)
    return _columns(rows), fit(_columns(rows), coarse_hz, resolution_hz)


def fit(partials: Partials, coarse_hz: float, resolution_hz: float, *, passes: int = _PASSES) -> StiffString:
    """The stiff string through the partials; ``resolution_hz`` is one bin of the unpadded window."""
    n, hz = partials.numbers, partials.hz
    if len(n) == 0:
        return StiffString(coarse_hz, _USUAL_B)
    cents = 1200.0 * np.log2(hz / (n * coarse_hz))
    noise = 1200.0 / np.log(2.0) * _PEAK_BINS * resolution_hz / (partials.clear * hz)
    trust = 1.0 / (_BODY_CENTS**2 + noise**2)
    base, stiffness = float(np.median(cents)), _USUAL_B
    keep = np.ones(len(n))
    for _ in range(passes):
        weights = trust * keep
        slope = _CENTS_OF_B * n**2 / (1.0 + stiffness * n**2)
        model = 1200.0 * np.log2(np.sqrt(1.0 + stiffness * n**2))
        wanted = cents - model + slope * stiffness
        # Normal equations of (base, B), B with its usual value as one more observation.
        a, b, d = weights.sum(), (weights * slope).sum(), (weights * slope**2).sum() + 1.0 / _SPREAD_B**2
        u, v = (weights * wanted).sum(), (weights * slope * wanted).sum() + _USUAL_B / _SPREAD_B**2
        determinant = a * d - b * b
        stiffness = float(np.clip((a * v - b * u) / determinant, 0.0, _STIFFEST))
        base = float((weights * (wanted - slope * stiffness)).sum() / a)
        off = np.abs(cents - base - 600.0 * np.log2(1.0 + stiffness * n**2)) * np.sqrt(trust)
        scale = max(1.0, 1.4826 * float(np.median(off)))
        keep = np.maximum(0.0, 1.0 - (off / (_BIWEIGHT * scale)) ** 2) ** 2
        if keep.sum() < 1.0:
            keep = np.ones(len(n))
    return StiffString(float(coarse_hz * 2.0 ** (base / 1200.0)), stiffness)


def _columns(rows: list[tuple[float, float, float, float]]) -> Partials:
    table = np.asarray(rows, np.float64).reshape(-1, 4)
    return Partials(table[:, 0], table[:, 1], table[:, 2], table[:, 3])


def _peak(magnitude: Array, expected: float, reach: float) -> float | None:
    """Place in bins of the highest peak near where it is expected."""
    first, last = max(1, round(expected - reach)), min(len(magnitude) - 2, round(expected + reach))
    if last <= first:
        return None
    part = magnitude[first - 1 : last + 2]
    tops = np.flatnonzero((part[1:-1] >= part[:-2]) & (part[1:-1] > part[2:]))
    if len(tops) == 0:
        return None
    at = first + int(tops[np.argmax(part[1:-1][tops])])
    return at + parabola(np.log(magnitude[at - 1 : at + 2] + 1e-12), 1)


def _floor(magnitude: Array, at: int, spacing: float) -> float:
    """What lies beside a peak, half a partial's distance to both sides."""
    half = max(12, round(0.5 * spacing))
    return float(np.median(magnitude[max(0, at - half) : at + half + 1])) + 1e-12


def _masked(magnitude: Array, before: Array, at: int) -> bool:
    return float(before[at]) ** 2 > _MASKED * float(magnitude[at]) ** 2


def parabola(values: Array, at: int) -> float:
    """Offset of the top of the parabola through a peak and its neighbours, -0.5 to 0.5."""
    left, middle, right = float(values[at - 1]), float(values[at]), float(values[at + 1])
    bend = left - 2.0 * middle + right
    return 0.0 if bend == 0.0 else float(np.clip(0.5 * (left - right) / bend, -0.5, 0.5))
