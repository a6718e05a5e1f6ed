"""The k best fingerings, for exploring: list Viterbi (Seshadri and Sundberg 1994, IEEE Trans. Commun. 42)."""

import numpy as np
from numpy.typing import NDArray

from coach.fretboard.fingering import Fingering
from coach.fretboard.reading import read
from coach.fretboard.stances import Floats
from coach.fretboard.trellis import Trellis
from coach.notation.arrangement import Arrangement

_MOST_PATHS = 256
"""Paths kept for each stance at most; beyond, fewer fingerings than asked for may be returned."""

Origins = list[NDArray[np.intp]]


def best_few(arrangement: Arrangement, trellis: Trellis, count: int) -> tuple[Fingering, ...]:
    """The ``count`` best fingerings that a player can tell apart, the best first.

    Parameters
    ----------
    arrangement
        What the trellis was laid out for.
    trellis
        What to search.
    count
        How many, from 1 on.

    Two paths that differ only in where the hand lies while the same fingers press the same places are one
    fingering. Exact: no fingering that is left out costs less than one that is given.

    ``ValueError`` for a count below 1.
    """
    if count < 1:
        raise ValueError("at least one fingering must be asked for")
    width = count
    while True:
        paths, complete = _paths(trellis, width)
        found: dict[object, Fingering] = {}
        for path in paths:
            fingering = read(arrangement, trellis, path)
            found.setdefault(fingering.visible, fingering)
            if len(found) == count:
                return tuple(found.values())
        if complete or width >= _MOST_PATHS:
            return tuple(found.values())
        width *= 4


def _paths(trellis: Trellis, width: int) -> tuple[list[tuple[int, ...]], bool]:
    """The ``width`` cheapest paths, and whether these are all there are."""
    if not trellis.parts:
        return [()], True
    best = np.full((len(trellis.own[0]), width), np.inf)
    best[:, 0] = trellis.own[0]
    origins: Origins = []
    for at in range(1, len(trellis.parts)):
        best, origin = _step(best, trellis.moves(at), trellis.own[at], width)
        origins.append(origin)
    flat = best.ravel()
    order = np.argsort(flat, kind="stable")[:width]
    ends = [int(end) for end in order if np.isfinite(flat[end])]
    return [_back(origins, end, width) for end in ends], len(ends) < width


def _step(best: Floats, moves: Floats, own: Floats, width: int) -> tuple[Floats, NDArray[np.intp]]:
    """The cheapest paths one moment on; origins number (stance, rank) pairs of the moment before."""
    through = (best.T[None, :, :] + moves.T[:, None, :]).transpose(0, 2, 1).reshape(len(own), -1)
    if through.shape[1] > width:
        few = np.argpartition(through, width - 1, axis=1)[:, :width]
    else:
        few = np.broadcast_to(np.arange(through.shape[1]), through.shape)
    total: Floats = np.full((len(own), width), np.inf)
    origin = np.zeros((len(own), width), dtype=np.intp)
    total[:, : few.shape[1]] = np.take_along_axis(through, few, axis=1) + own[:, None]
    origin[:, : few.shape[1]] = few
    return total, origin


def _back(origins: Origins, end: int, width: int) -> tuple[int, ...]:
    stance, rank = divmod(end, width)
    found = [stance]
    for origin in reversed(origins):
        stance, rank = divmod(int(origin[stance, rank]), width)
        found.append(stance)
    return tuple(reversed(found))
