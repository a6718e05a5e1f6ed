"""The tempo of a recording, and the other readings of the same pulse."""

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from coach.hearing.beats_harmony import harmony_changes
from coach.hearing.beats_strength import OnsetStrength
from coach.hearing.beats_weights import WEIGHTS

TEMPO_RANGE_BPM = (40.0, 210.0)
"""Readings that the player may choose."""
_TRIED_BPM = (48.0, 190.0)
"""Tempos that are found unasked: slower and faster ones were not learned on."""
_GRID = 300
"""So many are tried, in equal ratios: steps of half a per cent."""
USUAL_TEMPO_BPM = 95.0
"""Middle of the tempos that are expected: moderate, as first pieces are. Tuned on rendered clips."""
_SPREAD_OCTAVES = 0.6
MULTIPLES = tuple(
    Fraction(part) for part in ("1/8", "1/6", "1/4", "1/3", "1/2", "2/3", 1, "3/2", 2, 3, 4, 6, 8, 12, 16)
)
"""Multiples of a beat's length after which music repeats or does not: parts of beats, bars, phrases."""
CURVES = ("onsets", "low", "harmony")
_WIDER = 0.012
"""Players are not clocks: a repetition counts that comes so much of its length early or late."""
_SHORTEST_S = 0.25
_STRETCH_S = 26.0
"""Longer recordings are heard in stretches of about this length, as the weights were learned on: the tempo
drifts, and what repeats after bars weighs more the longer the stretch."""
_CLEAR_ONSET = 1.5
"""Onset strength, in standard deviations, from which an onset counts for how many there are a beat."""
_FEWEST_A_BEAT = 0.05
READINGS = (Fraction(1, 2), Fraction(2), Fraction(3), Fraction(2, 3), Fraction(3, 2), Fraction(1, 3))
"""Tempos that the same recording may be felt in: half, double, triple, and two against three."""


def tempo_of(strength: OnsetStrength) -> float:
    """Beats a minute of the likeliest pulse.

    Greatest is a weighted sum of `tempo_evidence`: of what repeats with a beat, with its parts and its
    multiples, in onsets, in the bass and in changes of harmony, and of how usual such a tempo and so many
    notes a beat are. The weights were learned on rendered clips.
    """
    if strength.silent:
        return USUAL_TEMPO_BPM
    tempos = tried_tempos()
    return float(tempos[np.argmax(tempo_evidence(strength) @ np.array(WEIGHTS))])


def tried_tempos() -> NDArray[np.float64]:
    """Beats a minute of all tempos that are tried, ascending."""
    return np.geomspace(*_TRIED_BPM, _GRID)


def tempo_evidence(strength: OnsetStrength) -> NDArray[np.float64]:
    """What speaks for each tempo of `tried_tempos`.

    That a beat is half or twice as long is told by its parts and multiples: half a beat and whole bars repeat
    otherwise than beats (Klapuri, Eronen & Astola, "Analysis of the meter of acoustic musical signals", IEEE
    TASLP 14(1), 2006), and by the tempos that people tap at, a hump over the logarithm of the tempo
    (Parncutt, "A perceptual model of pulse salience and metrical accent in musical rhythms", Music Perception
    11(4), 1994; van Noorden & Moelants, "Resonance in the perception of musical pulse", JNMR 28(1), 1999).

    Returns
    -------
    NDArray[np.float64]
        Shape (tempos, numbers): for each of `CURVES` how alike it is to itself after each of
        `MULTIPLES` of a beat; the octaves from `USUAL_TEMPO_BPM`, and their square; the square of the octaves
        from one note a beat.
    """
    tempos = tried_tempos()
    periods = 60.0 * strength.rate_hz / tempos
    harmony = harmony_changes(strength.chroma, strength.rate_hz)
    columns: list[NDArray[np.float64]] = []
    for curve in (np.sqrt(strength.values), strength.low, np.sqrt(harmony)):
        longest = int(periods.max() * float(MULTIPLES[-1])) + 2
        alike = _likeness(curve.astype(np.float64), longest, strength.rate_hz)
        lags = np.arange(len(alike))
        columns += [np.interp(periods * float(part), lags, alike, right=0.0) for part in MULTIPLES]
    octaves = np.log2(tempos / USUAL_TEMPO_BPM)
    notes = np.log2(np.maximum(_onsets_a_minute(strength) / tempos, _FEWEST_A_BEAT))
    return np.stack([*columns, octaves, octaves**2, notes**2], axis=1)


def preference(tempos_bpm: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much each tempo is expected where nothing else is known, 0 to 1."""
    away = np.log2(tempos_bpm / USUAL_TEMPO_BPM) / _SPREAD_OCTAVES
    return np.asarray(np.exp(-0.5 * away**2))


def other_tempos(tempo_bpm: float) -> tuple[float, ...]:
    """The same pulse read at ½, 2, 3, ⅔, … of the tempo, within the range of tempos, likeliest first."""
    found = [tempo_bpm * float(reading) for reading in READINGS]
    inside = [tempo for tempo in found if TEMPO_RANGE_BPM[0] <= tempo <= TEMPO_RANGE_BPM[1]]
    return tuple(sorted(inside, key=lambda tempo: -preference(np.array([tempo]))[0]))


def _likeness(values: NDArray[np.float64], longest: int, rate_hz: float) -> NDArray[np.float64]:
    """How alike a curve is to itself after 0, 1, … frames, above what it mostly is; mean over stretches."""
    stretches = np.array_split(values, max(1, round(len(values) / rate_hz / _STRETCH_S)))
    count = min(longest, *(len(stretch) for stretch in stretches))
    return np.asarray(np.mean([_alike(stretch, count, rate_hz) for stretch in stretches], axis=0))


def _alike(values: NDArray[np.float64], count: int, rate_hz: float) -> NDArray[np.float64]:
    size = 2 ** int(np.ceil(np.log2(2 * len(values))))
    found = np.fft.irfft(np.abs(np.fft.rfft(values, size)) ** 2, size)[:count]
    found /= found[0] + 1e-12
    lags = np.arange(count)
    near = [np.interp(lags * (1.0 + away), lags, found) for away in np.linspace(-_WIDER, _WIDER, 5)]
    wider = np.maximum(found, np.max(near, axis=0))
    beyond = wider[int(_SHORTEST_S * rate_hz) :]
    return np.asarray(wider - (float(np.median(beyond)) if len(beyond) else 0.0))


def _onsets_a_minute(strength: OnsetStrength) -> float:
    values = strength.values
    inner = values[1:-1]
    peaks = (inner > values[:-2]) & (inner >= values[2:]) & (inner > _CLEAR_ONSET)
    return float(peaks.sum()) * 60.0 * strength.rate_hz / max(1, len(values))
