"""What it costs to get from one way of holding a moment to the next."""

import numpy as np

from coach.fretboard.reach import Costs
from coach.fretboard.stances import SLOTS, Bools, Floats, Stances, first_string

NEW = -1
"""In place of a column: the tone was not there before."""
Came = tuple[int, ...]
"""For each tone of the later chord its column in the earlier one, or `NEW`."""


def moves(costs: Costs, fret_mm: Floats, before: Stances, after: Stances, came: Came) -> Floats:
    """Cost in points of every move, an array of ``len(before)`` rows and ``len(after)`` columns.

    Infinite where a held tone would change its stop, or come back after it was let go.
    """
    shifted = before.position[:, None] != after.position[None, :]
    distance_mm = np.abs(fret_mm[before.position][:, None] - fret_mm[after.position][None, :])
    total: Floats = costs.shift * shifted + costs.shift_mm * distance_mm
    holding = np.zeros(len(after), dtype=np.bool_)
    for column, source in enumerate(came):
        if source != NEW:
            holding |= after.finger[:, column] > 0
    total += costs.shift_held * (shifted & holding[None, :])
    total += _refingered(costs, before, after, came)
    total += _fingers(costs, before, after)
    total[_broken(before, after, came)] = np.inf
    return total


def _broken(before: Stances, after: Stances, came: Came) -> Bools:
    broken = np.zeros((len(before), len(after)), dtype=np.bool_)
    for column, source in enumerate(came):
        if source == NEW:
            continue
        kept = before.way[:, source][:, None] == after.way[:, column][None, :]
        gone = after.gone[:, column]
        was_gone = before.gone[:, source]
        broken |= np.where(gone[None, :], False, ~kept | was_gone[:, None])
    return broken


def _refingered(costs: Costs, before: Stances, after: Stances, came: Came) -> Floats:
    """A pitch that ended and is struck again in another place, or with another finger."""
    total = np.zeros((len(before), len(after)))
    ended = [column for column in range(SLOTS) if column not in came]
    for column, source in enumerate(came):
        if source != NEW:
            continue
        for old in ended:
            again = before.pitch[:, old][:, None] == after.pitch[:, column][None, :]
            again &= (before.pitch[:, old] > 0)[:, None]
            same = before.string[:, old][:, None] == after.string[:, column][None, :]
            same &= before.finger[:, old][:, None] == after.finger[:, column][None, :]
            total += costs.refingered * (again & ~same)
    return total


def _fingers(costs: Costs, before: Stances, after: Stances) -> Floats:
    """A finger that presses at both moments, but not the same place."""
    total = np.zeros((len(before), len(after)))
    for finger in range(before.places.shape[1]):
        old = before.places[:, finger][:, None]
        new = after.places[:, finger][None, :]
        moved = (old > 0) & (new > 0) & (old != new)
        along = first_string(old) == first_string(new)
        total += moved * np.where(along, costs.along_string, costs.other_string)
    return total
