"""The beats of a loop: where the click falls, and how it is counted in."""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from coach.practice.piece_state import PieceState, SectionState
from coach.sessions.piece.material import grid_of
from coach.ui.presenters.drawn import Loop
from coach.ui.presenters.piece_view import bar_onsets

LEAST_COUNTED = 2
"""Fewer beats than this are no count-in: a bar more is counted (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class LoopBeats:
    """Beats in seconds of the recording; the count-in as gaps in the same seconds, one for each beat."""

    clicks_s: tuple[float, ...] = ()
    accents_s: tuple[float, ...] = ()
    count_in_s: tuple[float, ...] = ()


def beats_of(piece: PieceState, section: SectionState, loop: Loop) -> LoopBeats:
    """The beats of a loop of bars; the first of each full bar is accented.

    A loop that begins within a bar is counted in from the ONE before it, so that its upbeat falls right.
    """
    onsets, grid, meter = bar_onsets(piece, section), grid_of(piece), piece.meter
    start, end = onsets[loop.first], onsets[loop.last + 1]
    bar = piece.pickup + meter.bar * ((start - piece.pickup) // meter.bar)
    clicks = _from(bar, start, end, meter.beat)
    accents = [at for at in clicks if (at - piece.pickup) % meter.bar == 0]
    one = bar
    while start - one < LEAST_COUNTED * meter.beat:
        one -= meter.bar
    counted = [*_from(one, one, start, meter.beat), start]
    times = [grid.second_of(at) for at in counted]
    return LoopBeats(
        tuple(grid.second_of(at) for at in clicks),
        tuple(grid.second_of(at) for at in accents),
        tuple(after - before for before, after in pairwise(times)),
    )


def _from(first: Fraction, start: Fraction, end: Fraction, step: Fraction) -> list[Fraction]:
    """Times ``first``, ``first + step``, ... that lie in [start, end)."""
    count = max(0, -((first - end) // step))
    return [first + index * step for index in range(count) if first + index * step >= start]
