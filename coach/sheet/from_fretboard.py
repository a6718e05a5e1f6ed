"""From the fretboard's answer to the marks on a sheet."""

from coach.fretboard import Fingering
from coach.sheet.marks import MarkedNote, SheetMarks


def marks_of(found: Fingering) -> SheetMarks:
    """The marks of a fingering; the arrangement it belongs to is the one with its changes carried out."""
    return SheetMarks(
        tuple(
            MarkedNote(
                note.line, note.note.onset, note.place.string, note.place.fret, note.finger, note.right_hand
            )
            for note in found.notes
        ),
        found.neck.tuning.strings,
    )
