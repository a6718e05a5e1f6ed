"""Bars: which beats begin one, and how many beats it has."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coach.hearing.beats import Beats
from coach.hearing.beats_strength import OnsetStrength

METERS = {2: "2/4", 3: "3/4", 4: "4/4", 6: "6/8"}
"""Beats a bar, and the meter they are written in: quarters, in bars of six eighths."""
_TRIED = (2, 3, 4)
"""Bars of six are heard as two or as three: only the player can say."""
_PREFERENCE = {2: 0.6, 3: 1.0, 4: 1.1}
"""Bars of four are the most frequent, bars of two are mostly heard as four. Common practice; values ours."""
_LOW, _HARMONY, _ALL = 0.7, 1.5, 0.3
"""What speaks for the first beat of a bar: a bass note, a change of harmony, any onset. Values ours."""
_NEAR_FRAMES = 4
_SURE = 2.5
"""Contrast, in standard errors, from which the reading is called sure."""


@dataclass(frozen=True, slots=True)
class Bars:
    """Where bars begin.

    Parameters
    ----------
    beats_a_bar
        2, 3, 4 or 6.
    meter
        As written, the beat being a quarter (an eighth in 6/8): ``4/4``.
    first
        Index of the beat that begins the first full bar.
    bars_s
        Times in seconds of the first beats of bars.
    sure
        Whether the first beats stand out; otherwise the player should tap ONE.
    """

    beats_a_bar: int
    meter: str
    first: int
    bars_s: tuple[float, ...]
    sure: bool


def find_bars(beats: Beats, strength: OnsetStrength, beats_a_bar: int | None = None) -> Bars:
    """Find the bars of a recording whose beats are known.

    The meter and the first beat are those whose first beats stand out most against the others, counted in
    standard errors of the mean, by bass notes, changes of harmony and onsets. Our own rule.

    Parameters
    ----------
    beats, strength
        From `coach.hearing.beats`.
    beats_a_bar
        2, 3, 4 or 6 where the player has said so; found (never 6) if ``None``.
    """
    accents = _accents(beats, strength)
    choices = (beats_a_bar,) if beats_a_bar is not None else _TRIED
    readings = [
        (_contrast(accents, count, first), count, first) for count in choices for first in range(count)
    ]
    contrast, count, first = max(readings, key=lambda reading: reading[0] * _PREFERENCE.get(reading[1], 1.0))
    times = tuple(beats.beats_s[first::count])
    return Bars(count, METERS[count], first, times, contrast >= _SURE)


def _contrast(accents: NDArray[np.float64], count: int, first: int) -> float:
    """How far the accents of the first beats lie above the others, in standard errors."""
    ones = accents[first::count]
    others = np.delete(accents, np.arange(first, len(accents), count))
    if len(ones) < 2 or len(others) < 2:
        return 0.0
    spread = float(np.sqrt(accents.var() * (1 / len(ones) + 1 / len(others)))) + 1e-9
    return float(ones.mean() - others.mean()) / spread


def _accents(beats: Beats, strength: OnsetStrength) -> NDArray[np.float64]:
    """How much each beat is marked, in standard deviations."""
    frames = np.clip(
        np.round(np.array(beats.beats_s) * strength.rate_hz).astype(int), 0, len(strength.values) - 1
    )
    if len(frames) < 4:
        return np.zeros(len(frames))

    def peak(values: NDArray[np.float32]) -> NDArray[np.float64]:
        near = np.clip(frames[:, None] + np.arange(-1, _NEAR_FRAMES), 0, len(values) - 1)
        return np.asarray(values[near].max(axis=1), dtype=np.float64)

    changes = _harmony_changes(frames, strength.chroma)
    parts = ((_LOW, peak(strength.low)), (_HARMONY, changes), (_ALL, peak(strength.values)))
    return np.asarray(sum(weight * (part - part.mean()) / (part.std() + 1e-9) for weight, part in parts))


def _harmony_changes(frames: NDArray[np.intp], chroma: NDArray[np.float32]) -> NDArray[np.float64]:
    """How different the pitch classes of the beat before and after are, 0 to 1."""
    edges = [*frames, len(chroma)]
    sums = np.stack([chroma[a : max(b, a + 1)].sum(axis=0) for a, b in pairwise(edges)])
    unit = sums / (np.linalg.norm(sums, axis=1, keepdims=True) + 1e-9)
    return np.concatenate([[0.0], 1.0 - (unit[1:] * unit[:-1]).sum(axis=1)])
