"""A piece in hand whose one section lies on the neck, as if it had been found by ear."""

from fractions import Fraction

from coach.notation import Arrangement
from coach.practice.events import (
    GridSet,
    LineSettled,
    LineWritten,
    PieceChosen,
    SectionRecord,
    SectionsSet,
    TogetherSettled,
)
from coach.sessions.journal import Journal
from coach.sessions.piece.material import record_of


def take_in_hand(journal: Journal, piece: Arrangement) -> None:
    """Write what it takes until section A can be played."""
    journal.write(PieceChosen("p", piece.title, "a" * 64))
    quarters = (Fraction(0), Fraction(8))
    journal.write(GridSet("p", str(piece.meter), piece.pickup, quarters, (0.0, 6.0), "straight"))
    journal.write(SectionsSet("p", (SectionRecord("A", Fraction(0), piece.end),)))
    for line in piece.lines:
        notes = tuple(record_of(note) for note in line)
        journal.write(LineWritten("p", "A", line.kind.value, notes, "placed"))
        journal.write(LineSettled("p", "A", line.kind.value, 0))
    journal.write(TogetherSettled("p", "A"))
