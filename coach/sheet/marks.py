"""What a fingering adds to the written notes: places, fingers, tuning."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from coach.music.tuning_system import STANDARD_STRINGS
from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import Note, Place

RIGHT_HAND = ("p", "i", "m", "a")
"""Thumb, index, middle, ring finger (from the Spanish names). Common practice."""


@dataclass(frozen=True, slots=True)
class MarkedNote:
    """Where and with which fingers one note is played.

    Parameters
    ----------
    line, onset
        Which note: a line has one note at an onset (quarter notes).
    string
        1 (thinnest) to 6.
    fret
        Counted from the capo, 0 for an open string.
    finger
        1 (index) to 4 (little), ``None`` for an open string.
    right_hand
        p, i, m or a, ``None`` where it is left to the player.
    """

    line: LineKind
    onset: Fraction
    string: int
    fret: int
    finger: int | None = None
    right_hand: str | None = None

    def __post_init__(self) -> None:
        if self.finger is not None and not 1 <= self.finger <= 4:
            raise ValueError(f"no such finger: {self.finger}")
        if self.right_hand is not None and self.right_hand not in RIGHT_HAND:
            raise ValueError(f"no such finger of the right hand: {self.right_hand}")

    @property
    def place(self) -> Place:
        """String and fret."""
        return Place(self.string, self.fret)


@dataclass(frozen=True, slots=True)
class SheetMarks:
    """The marks of an arrangement, and the tuning that frets are counted on (open strings 6 to 1, MIDI)."""

    notes: tuple[MarkedNote, ...] = ()
    tuning: tuple[int, ...] = STANDARD_STRINGS

    def __post_init__(self) -> None:
        if len(self.tuning) != 6:
            raise ValueError(f"a guitar has six strings, not {len(self.tuning)}")


@dataclass(frozen=True, slots=True)
class MarkLookup:
    """The marks of an arrangement, note by note: the fingering's, else the player's own choice of place."""

    tuning: tuple[int, ...]
    _marks: Mapping[tuple[LineKind, Fraction], MarkedNote]

    @classmethod
    def of(cls, arrangement: Arrangement, marks: SheetMarks | None) -> "MarkLookup":
        """Marks for every note whose place is known."""
        chosen = {
            (line.kind, note.onset): MarkedNote(line.kind, note.onset, note.place.string, note.place.fret)
            for line, note in _notes(arrangement)
            if note.place is not None
        }
        found = {(mark.line, mark.onset): mark for mark in (marks.notes if marks else ())}
        return cls(marks.tuning if marks else STANDARD_STRINGS, chosen | found)

    def __bool__(self) -> bool:
        return bool(self._marks)

    def of_note(self, kind: LineKind, note: Note) -> MarkedNote | None:
        """The mark of a note, ``None`` where its place is open."""
        return self._marks.get((kind, note.onset))


def _notes(arrangement: Arrangement) -> Iterator[tuple[Line, Note]]:
    for line in arrangement.lines:
        for note in line:
            yield line, note
