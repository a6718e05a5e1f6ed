"""The beats of a recording as marks that a player may move, add, take away and read another way."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor
from statistics import median
from typing import Self

from coach.errors import InputError
from coach.music import BeatGrid, Meter
from coach.pieces.tapping import FEWEST_TAPS, grid_from_taps

LEAST_GAP_S = 0.12
"""Beats are never closer: 500 a minute, more than any reading of a pulse gives (our own choice)."""
FEWEST_BEATS = 2
LARGEST_STEP_S = 4.0
"""Beats are never farther apart where the whole is read another way: 15 a minute (our own choice)."""
NEAR_SHARE = 0.2
"""Taps that lie this near, in beats, to the beats found in the recording mean those (ours)."""
EVEN_SHARE = 0.75
"""So many of the steps between taps are one beat each: a hand may miss some (ours)."""
READINGS = (Fraction(1), Fraction(2), Fraction(1, 2), Fraction(3), Fraction(2, 3))
"""How often one may count to each beat: as it is, twice, half, three times, two for three."""


@dataclass(frozen=True, slots=True)
class BeatMarks:
    """Beats of a recording; every change gives new marks.

    Parameters
    ----------
    seconds
        Rising times of the beats, seconds of the recording, at least `FEWEST_BEATS`.
    one
        Index of the first beat of the piece's first full bar.
    """

    seconds: tuple[float, ...]
    one: int = 0

    def __post_init__(self) -> None:
        if len(self.seconds) < FEWEST_BEATS or any(b <= a for a, b in pairwise(self.seconds)):
            raise ValueError("beats are at least two, and rise")
        if not 0 <= self.one < len(self.seconds):
            raise ValueError("the ONE is one of the beats")

    @classmethod
    def of(cls, grid: BeatGrid, meter: Meter, pickup: Fraction, until_s: float) -> Self:
        """All beats of a grid that lie in a recording of ``until_s`` seconds; the ONE at least."""
        first = min(0, ceil((Fraction(grid.quarter_of(0.0)) - pickup) / meter.beat))
        last = max(first + 1, floor((Fraction(grid.quarter_of(until_s)) - pickup) / meter.beat))
        times = [(n, grid.second_of(pickup + n * meter.beat)) for n in range(first, last + 1)]
        inside = [(n, at) for n, at in times if at >= 0.0 or n >= 0]
        return cls(tuple(at for _, at in inside), -inside[0][0])

    @classmethod
    def tapped(cls, taps_s: Sequence[float], until_s: float, found_s: Sequence[float] = ()) -> "BeatMarks":
        """The beats that were meant by taps, the first of which is the ONE.

        Where the taps fall on beats that were found in the recording, those are meant: they follow the music
        when it hurries, and a hand is less exact. Else it is the even beat that fits the taps best.

        Raises
        ------
        InputError
            If there are too few taps or they are too uneven to be a beat.
        """
        taps = sorted(taps_s)
        meant = _meant(taps, found_s) if len(taps) >= FEWEST_TAPS else None
        if meant is not None:
            return meant
        grid = grid_from_taps(taps, min(taps, default=0.0), Fraction(1), until_s=until_s)
        return cls.of(grid, Meter(4, 4), Fraction(0), until_s)

    def grid(self, meter: Meter, pickup: Fraction) -> BeatGrid:
        """The grid with an anchor on each beat; the ONE comes after the upbeat."""
        quarters = tuple(pickup + (index - self.one) * meter.beat for index in range(len(self.seconds)))
        return BeatGrid(quarters, self.seconds)

    @property
    def tempo_bpm(self) -> float:
        """Beats a minute: the median of the steps."""
        return 60.0 / median(b - a for a, b in pairwise(self.seconds))

    def moved(self, index: int, by_s: float) -> "BeatMarks":
        """One beat earlier or later, as far as its neighbours and the recording's beginning leave room.

        Raises
        ------
        InputError
            If there is no room left.
        """
        times = self.seconds
        low = times[index - 1] + LEAST_GAP_S if index > 0 else 0.0
        high = times[index + 1] - LEAST_GAP_S if index + 1 < len(times) else float("inf")
        wanted = min(max(times[index] + by_s, low), high)
        if low > high or wanted == times[index] or (wanted - times[index]) * by_s < 0:
            raise InputError("There is no room: the next beat is too near, or the recording begins there.")
        return replace(self, seconds=(*times[:index], wanted, *times[index + 1 :]))

    def added(self, index: int) -> "BeatMarks":
        """One beat more, halfway to the next; behind the last one as far off as the one before it.

        Raises
        ------
        InputError
            If the two are too near for a beat between them.
        """
        times = self.seconds
        if index + 1 == len(times):
            return replace(self, seconds=(*times, 2 * times[-1] - times[-2]))
        if times[index + 1] - times[index] < 2 * LEAST_GAP_S:
            raise InputError("These two beats are too near for another one between them.")
        between = (times[index] + times[index + 1]) / 2
        one = self.one + (index < self.one)
        return BeatMarks((*times[: index + 1], between, *times[index + 1 :]), one)

    def removed(self, index: int) -> "BeatMarks":
        """One beat less; if it was the ONE, the next one is it.

        Raises
        ------
        InputError
            If too few would be left.
        """
        times = self.seconds
        if len(times) <= FEWEST_BEATS:
            raise InputError("These are the last two beats: they have to stay.")
        one = self.one - (index < self.one)
        return BeatMarks((*times[:index], *times[index + 1 :]), min(one, len(times) - 2))

    def with_one(self, index: int) -> "BeatMarks":
        """The piece's first full bar begins at another beat."""
        return replace(self, one=index)

    def read(self, times: Fraction) -> "BeatMarks | None":
        """The same pulse counted ``times`` as often, from the ONE on; ``None`` where that is no beat.

        New beats lie evenly between those of now.
        """
        step = 1 / times
        first = ceil(-self.one / step)
        last = floor((len(self.seconds) - 1 - self.one) / step)
        found = tuple(self._at(self.one + n * step) for n in range(first, last + 1))
        gaps = [b - a for a, b in pairwise(found)]
        if len(found) < FEWEST_BEATS or min(gaps) < LEAST_GAP_S or median(gaps) > LARGEST_STEP_S:
            return None
        return BeatMarks(found, -first)

    def _at(self, index: Fraction) -> float:
        low = min(floor(index), len(self.seconds) - 2)
        share = float(index - low)
        return self.seconds[low] * (1 - share) + self.seconds[low + 1] * share


def _meant(taps: Sequence[float], found_s: Sequence[float]) -> BeatMarks | None:
    """The found beats, or every second or third of them, that taps fall on; ``None`` where they do not."""
    if len(found_s) < FEWEST_BEATS:
        return None
    beats = [nearest(found_s, tap) for tap in taps]
    steps = [b - a for a, b in pairwise(beats)]
    stride = round(median(steps))
    if stride < 1 or any(step % stride for step in steps) or steps.count(stride) < EVEN_SHARE * len(steps):
        return None
    kept = tuple(found_s[beats[0] % stride :: stride])
    if len(kept) < FEWEST_BEATS:
        return None
    step_s = median(b - a for a, b in pairwise(kept))
    off_s = median(abs(found_s[beat] - tap) for beat, tap in zip(beats, taps, strict=True))
    return BeatMarks(kept, beats[0] // stride) if off_s <= NEAR_SHARE * step_s else None


def nearest(times_s: Sequence[float], at_s: float) -> int:
    """Index of the time nearest to a moment; times rise and are not none."""
    after = min(max(bisect_left(times_s, at_s), 1), len(times_s) - 1) if len(times_s) > 1 else 0
    return min((max(after - 1, 0), after), key=lambda index: abs(times_s[index] - at_s))
