"""Which tune of the piece in hand the ear prepares: that of the section whose melody comes next."""

from collections.abc import Sequence

from coach.errors import StoreError
from coach.notation import Arrangement
from coach.practice.piece_state import Cell, PieceState, SectionState
from coach.practice.progress import Progress
from coach.sessions.piece.bringing_in import bundled_pieces
from coach.sessions.piece.reference import reference_of
from coach.sessions.services import Services

FEWEST_TUNE_NOTES = 3
"""A tune shorter than this makes no drill from the piece."""


def tune_ahead(services: Services, progress: Progress) -> tuple[int, ...]:
    """The tune (MIDI) from which drills take their moves.

    That of the next section, where it is known before it is found: from a teacher's lines or a bundled piece;
    as the player's key has it, for the drills go to yet another key. Else that of the section found last;
    empty before there is one of three notes.
    """
    piece = progress.piece
    if piece is None:
        return ()
    ahead = next((section for section in piece.sections if section.melody.cell is not Cell.SETTLED), None)
    known = _known_lines(services, piece) if ahead is not None else None
    if ahead is not None and known is not None:
        tune = _part(known, piece, ahead)
        if len(tune) >= FEWEST_TUNE_NOTES:
            return tune
    return found_tune(piece.sections)


def found_tune(sections: Sequence[SectionState]) -> tuple[int, ...]:
    """The tune of the section found last, empty before there is one of three notes."""
    tunes = [tuple(note.midi for note in section.melody.notes) for section in sections]
    return next((tune for tune in reversed(tunes) if len(tune) >= FEWEST_TUNE_NOTES), ())


def _known_lines(services: Services, piece: PieceState) -> Arrangement | None:
    if piece.bundled is not None:
        bundled = next((each for each in bundled_pieces(services) if each.id == piece.bundled), None)
        return None if bundled is None else bundled.arrangement
    try:
        return reference_of(services, piece.piece)
    except StoreError:
        return None  # the piece's folder is gone: what was found in it still stands in the log


def _part(lines: Arrangement, piece: PieceState, section: SectionState) -> tuple[int, ...]:
    shift = piece.shift("melody")
    inside = (note for note in lines.melody if section.onset <= note.onset < section.end)
    return tuple(note.midi + shift for note in inside)
