"""A teacher's reference lines, where a pack brought them: checks against them are exact and say so."""

from coach.errors import InputError
from coach.music import BeatGrid
from coach.notation import Arrangement, LineKind
from coach.pieces.verdicts import ReferenceNote
from coach.sessions.piece.material import span_of
from coach.sessions.services import Services
from coach.sheet import read_arrangement

REFERENCE = "reference.musicxml"
"""Name of the file in the piece's folder."""


def reference_of(services: Services, piece: str) -> Arrangement | None:
    """The reference lines of a piece, in the recording's own pitch; ``None`` where there are none to read."""
    data = services.library().read(piece, REFERENCE)
    if data is None:
        return None
    try:
        return read_arrangement(data, REFERENCE)
    except InputError:
        return None  # a broken reference is none: the recording answers


def reference_notes(reference: Arrangement, kind: LineKind, grid: BeatGrid) -> tuple[ReferenceNote, ...]:
    """One reference line in seconds of the recording."""
    return tuple(
        ReferenceNote(span_of(grid, note.onset, note.duration), note.midi) for note in reference.line(kind)
    )
