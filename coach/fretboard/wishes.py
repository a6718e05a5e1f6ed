"""What the player wants to keep: this note here, this finger, stay below a fret, no barre."""

from dataclasses import dataclass, field, replace

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
