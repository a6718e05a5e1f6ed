"""What the player wants to keep: this note here, this finger, stay below a fret, no barre."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import assert_never

from coach.fretboard.score import NoteId, Tone
from coach.fretboard.stances import Way
from coach.fretboard.stops import OPEN
from coach.notation.arrangement import Arrangement
from coach.notation.note import Place


@dataclass(frozen=True, slots=True)
class NoteWish:
    """A note that must be played at a place, or with a finger (1 to 4, 0 for open), or both."""

    note: NoteId
    place: Place | None = None
    finger: int | None = None

    def allows(self, way: Way) -> bool:
        """Whether a way to play the note keeps the wish."""
        string, fret, finger = way.stop
        here = self.place is None or (self.place.string, self.place.fret) == (string, fret)
        return here and (self.finger is None or self.finger == finger)


@dataclass(frozen=True, slots=True)
class BelowFret:
    """Every pressed fret, counted from the capo, lies below this one."""

    fret: int


@dataclass(frozen=True, slots=True)
class NoBarre:
    """The index never lies across two strings."""


Wish = NoteWish | BelowFret | NoBarre
"""One wish that can be let go of alone: a note's place, a note's finger, or one for the whole piece."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """All wishes at once; they are kept exactly or the answer is `Blocked`.

    Parameters
    ----------
    notes
        For single notes.
    below_fret
        Every pressed fret, counted from the capo, lies below this one.
    no_barre
        The index never lies across two strings.
    """

    notes: tuple[NoteWish, ...] = field(default=())
    below_fret: int | None = None
    no_barre: bool = False

    def with_note(self, wish: NoteWish) -> "Wishes":
        """These wishes with one more; an older one for the same note gives way."""
        return replace(self, notes=(*(old for old in self.notes if old.note != wish.note), wish))

    @classmethod
    def of(cls, wishes: Iterable[Wish]) -> "Wishes":
        """Single wishes together; what is wanted of one note becomes one."""
        found = cls()
        for wish in wishes:
            match wish:
                case NoteWish(note=note, place=place, finger=finger):
                    old = next((old for old in found.notes if old.note == note), NoteWish(note))
                    place = old.place if place is None else place
                    finger = old.finger if finger is None else finger
                    found = found.with_note(NoteWish(note, place, finger))
                case BelowFret(fret=fret):
                    found = replace(found, below_fret=fret)
                case NoBarre():
                    found = replace(found, no_barre=True)
                case _:
                    assert_never(wish)
        return found

    def singly(self) -> tuple[Wish, ...]:
        """Each wish that can be let go of alone: first those for the whole, then the notes' as they came."""
        whole: list[Wish] = [] if self.below_fret is None else [BelowFret(self.below_fret)]
        whole += [NoBarre()] if self.no_barre else []
        for note in self.notes:
            whole += [NoteWish(note.note, place=note.place)] if note.place is not None else []
            whole += [NoteWish(note.note, finger=note.finger)] if note.finger is not None else []
        return tuple(whole)

    def without(self, wish: Wish) -> "Wishes":
        """These wishes less a single one."""
        return Wishes.of(one for one in self.singly() if one != wish)

    def without_note(self, note: NoteId) -> "Wishes":
        """These wishes less those for a note."""
        return replace(self, notes=tuple(old for old in self.notes if old.note != note))

    def allowed(self, tone: Tone, found: tuple[Way, ...]) -> tuple[bool, ...]:
        """Which of the ways to play a tone keep the wishes; a tone let go early has none to keep."""
        mine = [wish for wish in self.notes if wish.note in tone.notes]
        return tuple(way.stop.string == 0 or self._keeps(way, mine) for way in found)

    def _keeps(self, way: Way, mine: list[NoteWish]) -> bool:
        low = self.below_fret is None or way.stop.finger == OPEN or way.stop.fret < self.below_fret
        return low and all(wish.allows(way) for wish in mine)


NO_WISHES = Wishes()


def chosen_places(arrangement: Arrangement) -> Wishes:
    """The places that the notes themselves carry, as wishes."""
    return Wishes(
        notes=tuple(
            NoteWish(NoteId(line.kind, index), note.place)
            for line in arrangement.lines
            for index, note in enumerate(line)
            if note.place is not None
        )
    )
