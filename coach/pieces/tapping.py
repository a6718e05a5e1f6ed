"""A beat grid out of taps."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import linear_regression, median

from coach.errors import InputError
from coach.music import BeatGrid

FEWEST_TAPS = 4
LEAST_STEP_S = 0.2
"""Nobody taps a beat faster than 300 a minute (about the limit of a hand, from memory)."""
LEAST_EVEN = 0.5
"""So many of the steps are about one beat: others may be missed taps (ours)."""
MOST_UNEVEN = 0.3
"""Taps that miss the even beat by more than this share of it are not a beat (ours)."""


def grid_from_taps(
    taps_s: Sequence[float],
    one_s: float,
    beat: Fraction,
    *,
    pickup: Fraction = Fraction(0),
    until_s: float | None = None,
) -> BeatGrid:
    """The even grid that fits the taps best (least squares), with quarter ``pickup`` on the ONE.

    Parameters
    ----------
    taps_s
        Times of taps, one a beat, rising; a missed tap is bridged.
    one_s
        Time of the first beat of the first full bar; the nearest beat is meant.
    beat
        Length of a beat in quarters.
    until_s
        The last anchor lies at or after this time.

    Raises
    ------
    InputError
        If there are too few taps or they are too uneven to be a beat.
    """
    taps = sorted(taps_s)
    if len(taps) < FEWEST_TAPS:
        raise InputError(f"Tap at least {FEWEST_TAPS} beats in a row, one for each beat.")
    step_s = median(b - a for a, b in pairwise(taps))
    if step_s < LEAST_STEP_S:
        raise InputError("The taps fall together: tap once for each beat.")
    counts = [0]
    for before, after in pairwise(taps):
        counts.append(counts[-1] + max(1, round((after - before) / step_s)))
    slope, start = linear_regression(counts, taps)
    worst = max(abs(start + slope * n - tap) for n, tap in zip(counts, taps, strict=True))
    even = sum(abs(b - a - step_s) <= MOST_UNEVEN * step_s for a, b in pairwise(taps))
    if worst > MOST_UNEVEN * slope or even < LEAST_EVEN * (len(taps) - 1):
        raise InputError("The taps are too uneven to be a beat: tap again, along with the music.")
    first = start + slope * round((one_s - start) / slope)
    zero_s = first - float(pickup / beat) * slope
    beats = max(1, round(((until_s or taps[-1]) - zero_s) / slope) + 1)
    return BeatGrid((Fraction(0), beat * beats), (zero_s, zero_s + slope * beats))
