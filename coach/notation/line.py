"""A run of notes of which never two sound at once."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from coach.errors import LineError
from coach.notation.note import Note


class LineKind(StrEnum):
    """The two lines of an arrangement."""

    MELODY = "melody"
    BASS = "bass"


@dataclass(frozen=True, slots=True)
class Line:
    """A monophonic line: notes in order of onset, none starting before the one before it has ended.

    Raises
    ------
    LineError
        On overlap, naming the note.
    """

    kind: LineKind
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        for before, after in pairwise(self.notes):
            if after.onset < before.end:
                raise LineError(
                    f"In the {self.kind} the note {after} starts while {before} still sounds: "
                    "a line has one note at a time."
                )

    @classmethod
    def of(cls, kind: LineKind, notes: Iterable[Note]) -> "Line":
        """A line of notes given in any order."""
        return cls(kind, tuple(sorted(notes, key=lambda note: note.onset)))

    def __len__(self) -> int:
        return len(self.notes)

    def __iter__(self) -> Iterator[Note]:
        return iter(self.notes)

    @property
    def end(self) -> Fraction:
        """Where the last note stops, 0 for an empty line."""
        return self.notes[-1].end if self.notes else Fraction(0)

    def at(self, time: Fraction) -> Note | None:
        """The note that sounds at a musical time, ``None`` in a rest."""
        index = bisect_right(self.notes, time, key=lambda note: note.onset) - 1
        return self.notes[index] if index >= 0 and self.notes[index].end > time else None

    def between(self, start: Fraction, end: Fraction) -> tuple[Note, ...]:
        """The notes whose onset lies in [start, end)."""
        return tuple(note for note in self.notes if start <= note.onset < end)

    def placed(self, note: Note) -> "Line":
        """This line with a note written in: what it overlaps gives way (is shortened, or replaced)."""
        kept: list[Note] = []
        for old in self.notes:
            if old.onset < note.onset < old.end:
                kept.append(replace(old, duration=note.onset - old.onset))
            elif old.end <= note.onset or old.onset >= note.end:
                kept.append(old)
        return Line.of(self.kind, [*kept, note])

    def without(self, note: Note) -> "Line":
        """This line less one of its notes; ``ValueError`` if it is not there."""
        if note not in self.notes:
            raise ValueError(f"{note} is not in the line")
        return Line(self.kind, tuple(other for other in self.notes if other is not note and other != note))
