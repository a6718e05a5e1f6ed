"""The search for the best fingering: shortest paths through the stances of every moment (Viterbi 1967).

Exact: the cost of a piece is a sum over moments and over moves between neighbouring moments, so the best way
to a stance is the best over its predecessors (Bellman's principle).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.fretboard.moves import NEW, Came, moves
from coach.fretboard.score import Moment, Score
from coach.fretboard.stances import Floats, Part, Stances, stances, ways
from coach.fretboard.stops import Neck
from coach.fretboard.wishes import Wishes

PRICE_WEIGHT = 1e6
"""Points of fingering for one point of price: the price decides, the fingering only among equals.

The smallest difference of prices, times this, outweighs any fingering of a first piece, and the sum still
keeps seven digits after the point."""
_MOST_MOVES = 4_000_000
"""Numbers kept in the store of moves, 32 MB, before it is emptied."""


class NeckTables:
    """The stances and moves on one neck, worked out once and kept: give it to every search on that neck."""

    def __init__(self, neck: Neck) -> None:
        self.neck = neck
        self.fret_mm = np.array(neck.fret_mm)
        self._stances: dict[tuple[Part, ...], Stances] = {}
        self._moves: dict[tuple[tuple[Part, ...], tuple[Part, ...], Came], Floats] = {}
        self._kept = 0

    def stances(self, parts: tuple[Part, ...]) -> Stances:
        """Every stance for a chord."""
        if parts not in self._stances:
            self._stances[parts] = stances(self.neck, parts)
        return self._stances[parts]

    def moves(self, before: tuple[Part, ...], after: tuple[Part, ...], came: Came) -> Floats:
        """Cost of every move between the stances of two chords."""
        key = (before, after, came)
        found = self._moves.get(key)
        if found is None:
            found = moves(
                self.neck.reach.costs, self.fret_mm, self.stances(before), self.stances(after), came
            )
            if self._kept > _MOST_MOVES:
                self._moves.clear()
                self._kept = 0
            self._moves[key] = found
            self._kept += found.size
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Trellis:
    """The stances of every moment of a score, their own costs, and how they follow each other.

    Parameters
    ----------
    parts, came
        The chord of each moment, and where its tones come from (empty for the first).
    plain
        Cost in points of each stance at each moment; infinite where a wish forbids it.
    own
        The same with the prices of changes weighted in.
    """

    tables: NeckTables
    score: Score
    parts: tuple[tuple[Part, ...], ...]
    came: tuple[Came, ...]
    plain: tuple[Floats, ...]
    own: tuple[Floats, ...]

    @classmethod
    def of(cls, tables: NeckTables, score: Score, wishes: Wishes) -> "Trellis":
        """Lay out a score under the player's wishes."""
        parts = tuple(_parts(score, moment) for moment in score.moments)
        came = tuple(_came(score, at) for at in range(len(score.moments)))
        plain = tuple(_plain(tables, score, at, parts[at], wishes) for at in range(len(score.moments)))
        own = tuple(_with_prices(tables, score, at, parts[at], plain[at]) for at in range(len(plain)))
        return cls(tables, score, parts, came, plain, own)

    def stances(self, at: int) -> Stances:
        """The stances of a moment."""
        return self.tables.stances(self.parts[at])

    def moves(self, at: int) -> Floats:
        """Cost of every move into a moment from the one before it."""
        return self.tables.moves(self.parts[at - 1], self.parts[at], self.came[at])


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """The best cost of reaching every stance, moment by moment, and from where.

    Parameters
    ----------
    best, origin
        For each moment swept: least cost of a path to each stance; the stance before on that path.
    stuck
        Index of the first moment that no path reaches, ``None`` if all are reached.
    """

    best: tuple[Floats, ...]
    origin: tuple[NDArray[np.intp], ...]
    stuck: int | None = None

    @property
    def cost(self) -> float:
        """Least cost of the whole; 0 for no moments at all, infinite when stuck."""
        if self.stuck is not None:
            return float("inf")
        return float(self.best[-1].min()) if self.best else 0.0

    def path(self, last: int | None = None) -> tuple[int, ...]:
        """The stance of each moment on the best path (to a given last stance)."""
        if not self.best:
            return ()
        at = int(self.best[-1].argmin()) if last is None else last
        found = [at]
        for origin in reversed(self.origin[1:]):
            at = int(origin[at])
            found.append(at)
        return tuple(reversed(found))


def sweep(trellis: Trellis, known: Sweep | None = None, unchanged: int = 0) -> Sweep:
    """Go through all moments from the first on.

    Parameters
    ----------
    trellis
        What to search.
    known, unchanged
        An earlier sweep whose first moments, so many, are still right; they are not gone through again.
    """
    best = list(known.best[:unchanged]) if known else []
    origin = list(known.origin[:unchanged]) if known else []
    for at in range(len(best), len(trellis.parts)):
        own = trellis.own[at]
        if at == 0:
            total, source = own, np.zeros(len(own), dtype=np.intp)
        else:
            through = trellis.moves(at) + best[at - 1][:, None]
            source = through.argmin(axis=0) if through.size else np.zeros(len(own), dtype=np.intp)
            total = through[source, np.arange(len(own))] + own if through.size else own
        if not np.isfinite(total).any():
            return Sweep(tuple(best), tuple(origin), stuck=at)
        best.append(total)
        origin.append(source)
    return Sweep(tuple(best), tuple(origin))


def onward(trellis: Trellis) -> tuple[Floats, ...]:
    """For each moment the least cost from each stance to the end, its own cost not counted."""
    count = len(trellis.parts)
    found: list[Floats] = []
    for at in range(count - 1, -1, -1):
        if at == count - 1:
            found.append(np.zeros(len(trellis.own[at])))
        else:
            through = trellis.moves(at + 1) + (trellis.own[at + 1] + found[-1])[None, :]
            found.append(through.min(axis=1, initial=np.inf))
    return tuple(reversed(found))


def _parts(score: Score, moment: Moment) -> tuple[Part, ...]:
    found = []
    for index, new in zip(moment.tones, moment.struck, strict=True):
        tone = score.tones[index]
        found.append(Part(tone.midi, tone.may_rise, not new and tone.may_go_at(moment.time)))
    return tuple(found)


def _came(score: Score, at: int) -> Came:
    if at == 0:
        return ()
    before = score.moments[at - 1].tones
    return tuple(before.index(tone) if tone in before else NEW for tone in score.moments[at].tones)


def _plain(tables: NeckTables, score: Score, at: int, parts: tuple[Part, ...], wishes: Wishes) -> Floats:
    moment = score.moments[at]
    found = tables.stances(parts)
    total: Floats = found.shape.copy()
    if len(moment.tones) == 2 and all(moment.struck):
        total += found.clash
    for column, new in enumerate(moment.struck):
        if new:
            total += found.strike[:, column]
    _forbid(tables, score, moment, parts, wishes, total)
    return total


def _with_prices(tables: NeckTables, score: Score, at: int, parts: tuple[Part, ...], plain: Floats) -> Floats:
    """Raising is paid where the note is struck, letting go for as long as the note is missing."""
    moment = score.moments[at]
    until = score.moments[at + 1].time if at + 1 < len(score.moments) else None
    found = tables.stances(parts)
    total = plain
    for column, (index, new) in enumerate(zip(moment.tones, moment.struck, strict=True)):
        tone = score.tones[index]
        if new and tone.may_rise and score.freedom.raised is not None:
            total = total + PRICE_WEIGHT * float(score.freedom.raised) * found.raised[:, column]
        if parts[column].may_go and score.freedom.shorten is not None:
            end = tone.end if until is None else min(tone.end, until)
            lost = float(score.freedom.shorten * (end - moment.time))
            total = total + PRICE_WEIGHT * lost * found.gone[:, column]
    return total


def _forbid(
    tables: NeckTables, score: Score, moment: Moment, parts: tuple[Part, ...], wishes: Wishes, total: Floats
) -> None:
    found = tables.stances(parts)
    if wishes.no_barre:
        total[found.barre] = np.inf
    if wishes.notes or wishes.below_fret is not None:
        for column, index in enumerate(moment.tones):
            kept = wishes.allowed(score.tones[index], ways(tables.neck, parts[column]))
            if not all(kept):
                total[~np.array(kept, dtype=np.bool_)[found.way[:, column]]] = np.inf
