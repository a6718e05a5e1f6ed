"""Moves of a tune in an order that does not give the tune away."""

from collections.abc import Sequence
from itertools import pairwise
from random import Random
from typing import Final

TELLING: Final = 3
"""So many consecutive intervals of a tune in a row would give it away."""
_TRIES: Final = 200
"""So often intervals are drawn; then one fewer is tried."""


def intervals_of(midis: Sequence[int]) -> tuple[int, ...]:
    """Semitones from note to note."""
    return tuple(after - before for before, after in pairwise(midis))


def tells_nothing(run: Sequence[int]) -> bool:
    """Whether a run of intervals belongs to every tune: a run of a scale, or one with repeated notes."""
    scale = all(1 <= move <= 2 for move in run) or all(-2 <= move <= -1 for move in run)
    return scale or 0 in run


def gives_away(moves: Sequence[int], tune: Sequence[int]) -> bool:
    """Whether three consecutive ``moves`` are three consecutive intervals of the tune (MIDI).

    Runs of a scale and repeated notes belong to every tune and give none away.
    """
    intervals = intervals_of(tune)
    telling = {
        intervals[i : i + TELLING]
        for i in range(len(intervals) - TELLING + 1)
        if not tells_nothing(intervals[i : i + TELLING])
    }
    return any(tuple(moves[i : i + TELLING]) in telling for i in range(len(moves) - TELLING + 1))


def follows(moves: Sequence[int], tune: Sequence[int]) -> bool:
    """Whether three ``moves`` in a row follow the tune in any way, its repeated notes heard as one or not."""
    intervals = intervals_of(tune)
    heard = (intervals, tuple(move for move in intervals if move != 0))
    known = {run[i : i + TELLING] for run in heard for i in range(len(run) - TELLING + 1)}
    return any(tuple(moves[i : i + TELLING]) in known for i in range(len(moves) - TELLING + 1))


def shuffled_moves(tune: Sequence[int], count: int, rng: Random, *, widest: int = 16) -> tuple[int, ...]:
    """Draw intervals of a tune in another order.

    Parameters
    ----------
    tune
        MIDI notes in order, at least two.
    count
        How many intervals, at least one; fewer come back if no order of so many is safe.
    rng
        Draws.
    widest
        The notes that follow from the moves span no more semitones than this (unless one move does).

    Returns
    -------
    tuple[int, ...]
        Semitones, never three or more consecutive intervals of the tune in a row (`gives_away`); where that
        is possible not even those of a scale, or with the tune's repeated notes left out (`follows`).
    """
    pool = [move for move in intervals_of(tune) if move != 0] or [0]
    while count > 1:
        safe: tuple[int, ...] | None = None
        for _ in range(_TRIES):
            moves = tuple(rng.sample(pool, count) if len(pool) >= count else rng.choices(pool, k=count))
            if gives_away(moves, tune) or _span(moves) > widest:
                continue
            if not follows(moves, tune):
                return moves
            safe = safe or moves
        if safe is not None:
            return safe
        count -= 1
    return (rng.choice(pool),)


def _span(moves: Sequence[int]) -> int:
    places = [0]
    for move in moves:
        places.append(places[-1] + move)
    return max(places) - min(places)
