"""The tempo of a recording, and the other readings of the same pulse."""

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from coach.hearing.beats_strength import OnsetStrength

TEMPO_RANGE_BPM = (40.0, 210.0)
_GRID = 500
"""Tempos that are tried, in equal ratios: steps of a third of a per cent."""
USUAL_TEMPO_BPM = 95.0
"""Middle of the tempos that are expected: moderate, as first pieces are. Tuned on rendered clips."""
_SPREAD_OCTAVES = 0.6
_MULTIPLES = ((1.0, 1.0), (2.0, 0.5), (4.0, 0.4), (0.5, 0.6))
"""Which multiples of a beat's length should repeat too, and how much each counts. Tuned on rendered clips."""
READINGS = (Fraction(1, 2), Fraction(2), Fraction(3), Fraction(2, 3), Fraction(3, 2), Fraction(1, 3))
"""Tempos that the same recording may be felt in: half, double, triple, and two against three."""


def tempo_of(strength: OnsetStrength) -> float:
    """Beats a minute of the likeliest pulse.

    The autocorrelation of the onset strength at a beat's length and its multiples, weighted by a log-normal
    preference for moderate tempos (D. P. W. Ellis, "Beat tracking by dynamic programming", Journal of New
    Music Research 36(1), 2007, section 3.2; the multiples and the weights are ours).
    """
    tempos = np.geomspace(*TEMPO_RANGE_BPM, _GRID)
    if strength.silent:
        return USUAL_TEMPO_BPM
    scores = _repetition(strength, 60.0 * strength.rate_hz / tempos)
    return float(tempos[np.argmax(scores * preference(tempos))])


def preference(tempos_bpm: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much each tempo is expected, 0 to 1."""
    away = np.log2(tempos_bpm / USUAL_TEMPO_BPM) / _SPREAD_OCTAVES
    return np.asarray(np.exp(-0.5 * away**2))


def other_tempos(tempo_bpm: float) -> tuple[float, ...]:
    """The same pulse read at ½, 2, 3, ⅔, … of the tempo, within the range of tempos, likeliest first."""
    found = [tempo_bpm * float(reading) for reading in READINGS]
    inside = [tempo for tempo in found if TEMPO_RANGE_BPM[0] <= tempo <= TEMPO_RANGE_BPM[1]]
    return tuple(sorted(inside, key=lambda tempo: -preference(np.array([tempo]))[0]))


def _repetition(strength: OnsetStrength, periods: NDArray[np.float64]) -> NDArray[np.float64]:
    """How well the onset strength repeats after each period (frames) and its multiples."""
    longest = min(len(strength.values), int(periods.max() * 4) + 2)
    similar = _autocorrelation(strength.values.astype(np.float64), longest)
    total = np.zeros(len(periods))
    for multiple, weight in _MULTIPLES:
        total += weight * np.interp(periods * multiple, np.arange(longest), similar, right=0.0)
    return np.maximum(total, 0.0)


def _autocorrelation(values: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    size = 2 ** int(np.ceil(np.log2(2 * len(values))))
    spectrum = np.fft.rfft(values, size)
    found = np.fft.irfft(np.abs(spectrum) ** 2, size)[:count]
    return np.asarray(found / (found[0] + 1e-12))
