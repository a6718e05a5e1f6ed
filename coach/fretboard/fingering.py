"""What the solver answers: a fingering, or why there is none."""

from dataclasses import dataclass
from fractions import Fraction

from coach.fretboard.score import NoteId
from coach.fretboard.stops import Neck
from coach.notation.line import LineKind
from coach.notation.note import Note, Place


@dataclass(frozen=True, slots=True)
class FingeredNote:
    """One note with where and how it is played.

    Parameters
    ----------
    name
        Which note of the arrangement.
    note
        As it is played: shorter, or an octave higher, where a change was allowed and needed.
    given
        As it was written.
    place
        String and fret, the fret counted from the capo.
    finger
        1 to 4, ``None`` for an open string.
    right_hand
        ``p``, ``i``, ``m`` or ``a``.
    short_price
        Points paid for letting it go early.
    """

    name: NoteId
    note: Note
    given: Note
    place: Place
    finger: int | None
    right_hand: str
    short_price: Fraction = Fraction(0)

    @property
    def line(self) -> LineKind:
        """Melody or bass."""
        return self.name.line

    @property
    def shortened(self) -> bool:
        """Whether it is let go early."""
        return self.note.duration != self.given.duration

    @property
    def raised(self) -> bool:
        """Whether it is played an octave higher."""
        return self.note.midi != self.given.midi


@dataclass(frozen=True, slots=True)
class HandAt:
    """The left hand at one onset.

    Parameters
    ----------
    onset
        In quarters.
    position
        Fret under the index finger, counted from the capo.
    cost
        Points of this moment: its shape, its strikes, and the move into it.
    spread_mm
        Distance between the two pressed places; 0 where fewer than two are pressed.
    barre, shifted, held
        Whether the index lies across two strings; the hand moved since the onset before; a pressed note
        from before is still held.
    """

    onset: Fraction
    position: int
    cost: float
    spread_mm: float
    barre: bool
    shifted: bool
    held: bool


@dataclass(frozen=True, slots=True)
class Fingering:
    """One way to play an arrangement.

    Parameters
    ----------
    notes
        By onset, melody before bass.
    hand
        One for each onset.
    cost
        Points of the whole; the lower the easier. Prices of changes are not in it.
    price
        Points paid for changes to single bass notes; 0 as written.
    neck
        What it was found for.
    """

    notes: tuple[FingeredNote, ...]
    hand: tuple[HandAt, ...]
    cost: float
    price: Fraction
    neck: Neck

    def at(self, name: NoteId) -> FingeredNote:
        """The fingered note of one written note; ``ValueError`` if there is none."""
        for note in self.notes:
            if note.name == name:
                return note
        raise ValueError(f"no such note: {name}")

    @property
    def visible(self) -> tuple[tuple[Place, int | None], ...]:
        """What a player can see of it: place and finger of every note."""
        return tuple((note.place, note.finger) for note in self.notes)

    @property
    def highest_fret(self) -> int:
        """Highest fret pressed, counted from the capo; 0 if all strings are open."""
        return max((note.place.fret for note in self.notes), default=0)


@dataclass(frozen=True, slots=True)
class Conflict:
    """Notes that this hand cannot play together.

    Parameters
    ----------
    onset
        Where it fails, in quarters.
    notes
        A smallest set of notes that cannot be played, whatever the others do.
    reason
        One sentence.
    mm, frets
        The least distance along the neck at which they can be had, in mm and in frets; ``None`` where
        distance is not the reason.
    """

    onset: Fraction
    notes: tuple[NoteId, ...]
    reason: str
    mm: float | None = None
    frets: int | None = None


@dataclass(frozen=True, slots=True)
class Blocked:
    """There is no fingering; each conflict says why, in order of time."""

    conflicts: tuple[Conflict, ...]
    neck: Neck
