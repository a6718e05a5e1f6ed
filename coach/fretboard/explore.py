"""Exploring the ways to play: move a note and see what follows."""

from dataclasses import dataclass
from itertools import takewhile

import numpy as np

from coach.fretboard.conflict import conflicts
from coach.fretboard.fingering import Blocked, Conflict, Fingering
from coach.fretboard.least import Fits
from coach.fretboard.ranking import best_few
from coach.fretboard.reading import read
from coach.fretboard.score import NoteId, Score
from coach.fretboard.stances import ways
from coach.fretboard.stops import Neck
from coach.fretboard.trellis import NeckTables, Sweep, Trellis, onward, sweep
from coach.fretboard.wishes import NO_WISHES, NoteWish, Wishes
from coach.notation.arrangement import Arrangement
from coach.notation.note import Place


@dataclass(frozen=True, slots=True)
class PlaceOption:
    """A place where a note could be played.

    Parameters
    ----------
    place
        String and fret, the fret from the capo.
    extra
        Points that the easiest fingering with the note here costs more than the easiest of all;
        ``None`` where there is none.
    why_not
        What stands against it, with the mm, where there is none.
    """

    place: Place
    extra: float | None
    why_not: Conflict | None = None


class Explorer:
    """An arrangement on a neck, with its best fingering under the player's wishes.

    Parameters
    ----------
    tables
        The neck with its tables, shared by every explorer that follows from this one.
    arrangement
        The two lines.
    wishes
        What the player wants kept.
    before
        An explorer of nearly the same: what lies before the first difference is not searched again.

    Immutable in use: moving a note gives another explorer.
    """

    def __init__(
        self,
        tables: NeckTables,
        arrangement: Arrangement,
        wishes: Wishes = NO_WISHES,
        before: "Explorer | None" = None,
    ) -> None:
        self.tables = tables
        self.arrangement = arrangement
        self.wishes = wishes
        self._score = Score.of(arrangement)
        self.trellis = Trellis.of(tables, self._score, wishes)
        known, unchanged = (before.swept, _alike(before.trellis, self.trellis)) if before else (None, 0)
        self.swept: Sweep = sweep(self.trellis, known, unchanged)

    @classmethod
    def on(cls, neck: Neck, arrangement: Arrangement, wishes: Wishes = NO_WISHES) -> "Explorer":
        """Begin exploring on a neck."""
        return cls(NeckTables(neck), arrangement, wishes)

    @property
    def cost(self) -> float:
        """Points of the best fingering; infinite where there is none."""
        return self.swept.cost

    def answer(self) -> Fingering | Blocked:
        """The best fingering, or why there is none."""
        if self.swept.stuck is None:
            return read(self.arrangement, self.trellis, self.swept.path())
        return Blocked(self._conflicts(self.wishes), self.tables.neck)

    def best(self, count: int) -> tuple[Fingering, ...]:
        """The best few fingerings, the best first; empty where there is none."""
        if self.swept.stuck is not None:
            return ()
        return best_few(self.arrangement, self.trellis, count)

    def wish(self, wish: NoteWish) -> "Explorer":
        """With a note here, or with this finger; everything else is solved around it."""
        return Explorer(self.tables, self.arrangement, self.wishes.with_note(wish), self)

    def wishing(self, wishes: Wishes) -> "Explorer":
        """With other wishes."""
        return Explorer(self.tables, self.arrangement, wishes, self)

    def rewritten(self, arrangement: Arrangement) -> "Explorer":
        """With another note written; wishes for notes by number hold on."""
        return Explorer(self.tables, arrangement, self.wishes, self)

    def options(self, name: NoteId) -> tuple[PlaceOption, ...]:
        """Every place on the neck where a note has its pitch, with what it would cost to play it there.

        The player's wish for this very note is set aside for the question.
        """
        free = self.wishes.without_note(name)
        if free != self.wishes:
            return self.wishing(free).options(name)
        at, column = self._struck_at(name)
        found = ways(self.tables.neck, self.trellis.parts[at][column])
        extras = self._extras(at, column, len(found))
        places: dict[Place, float] = {}
        for way, extra in zip(found, extras, strict=True):
            place = Place(way.stop.string, way.stop.fret)
            places[place] = min(places.get(place, np.inf), extra)
        return tuple(self._option(name, place, extra) for place, extra in places.items())

    def _option(self, name: NoteId, place: Place, extra: float) -> PlaceOption:
        if np.isfinite(extra):
            return PlaceOption(place, float(extra))
        against = self._conflicts(self.wishes.with_note(NoteWish(name, place)))
        mine = [conflict for conflict in against if name in conflict.notes]
        return PlaceOption(place, None, next(iter(mine or against), None))

    def _extras(self, at: int, column: int, count: int) -> list[float]:
        """For each way to play a tone the least extra cost of a whole fingering with it."""
        extras = np.full(count, np.inf)
        if self.swept.stuck is None:
            whole = self.swept.best[at] + onward(self.trellis)[at] - self.cost
            np.minimum.at(extras, self.trellis.stances(at).way[:, column], whole)
        return [float(extra) for extra in np.maximum(extras, 0.0)]

    def _struck_at(self, name: NoteId) -> tuple[int, int]:
        for at, moment in enumerate(self._score.moments):
            for column, (tone, new) in enumerate(zip(moment.tones, moment.struck, strict=True)):
                if new and name in self._score.tones[tone].notes:
                    return at, column
        raise ValueError(f"no such note: {name}")

    def _conflicts(self, wishes: Wishes) -> tuple[Conflict, ...]:
        fits = Fits(self.tables.neck, no_barre=wishes.no_barre)
        return conflicts(self.arrangement, self._score, fits, wishes)


def _alike(one: Trellis, other: Trellis) -> int:
    """How many moments from the first on are the same in two trellises."""
    pairs = zip(one.parts, other.parts, one.came, other.came, one.own, other.own, strict=False)
    same = takewhile(
        lambda six: six[0] == six[1] and six[2] == six[3] and np.array_equal(six[4], six[5]), pairs
    )
    return sum(1 for _ in same)
