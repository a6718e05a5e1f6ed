"""Where phrases seem to end in a recording: the bar before is emptier or quieter than its likes."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coach.hearing.beats_strength import OnsetStrength

_EMPTY_WEIGHT, _DIP_WEIGHT = 0.6, 0.4
_DEEP_DIP_DB = 20.0


def phrase_ends_of(strength: OnsetStrength, bars_s: Sequence[float]) -> tuple[float, ...]:
    """How surely a phrase ends after each bar.

    In the second half of a phrase's last bar less begins, and the sound fades, compared with the same half
    of the other bars: proximity, grouping preference rule 2 of F. Lerdahl and R. Jackendoff (A Generative
    Theory of Tonal Music, MIT Press 1983), read from sound. Weights are ours.

    Parameters
    ----------
    strength
        Of the recording.
    bars_s
        Rising times of the first beats of bars, seconds.

    Returns
    -------
    tuple of float
        Index n: after the n-th bar, 0 to 1; index 0 is unused. As long as ``bars_s``: the last bar, whose end
        is not known, is left out.
    """
    if len(bars_s) < 2:
        return (0.0,) * len(bars_s)
    halves = [_frames(strength, (start + end) / 2, end) for start, end in pairwise(bars_s)]
    begun = np.array([float(strength.values[half].mean()) for half in halves])
    level = np.array([float(np.percentile(strength.levels_db[half], 20)) for half in halves])
    empty = 1.0 - begun / (float(np.median(begun)) + 1e-9)
    dip = (float(np.median(level)) - level) / _DEEP_DIP_DB
    ends = _EMPTY_WEIGHT * np.clip(empty, 0, 1) + _DIP_WEIGHT * np.clip(dip, 0, 1)
    return (0.0, *(float(end) for end in ends))


def _frames(strength: OnsetStrength, start_s: float, end_s: float) -> NDArray[np.intp]:
    last = len(strength.values) - 1
    first = min(round(start_s * strength.rate_hz), last)
    return np.arange(first, max(first + 1, min(round(end_s * strength.rate_hz) - 2, last)))
