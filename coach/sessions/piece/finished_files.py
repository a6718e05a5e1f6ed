"""What the player takes away from a finished piece: the sheet and the take, where they find them."""

from datetime import date
from pathlib import Path

from coach.practice.piece_state import PieceState
from coach.sessions.keeping import usual_folder
from coach.sessions.piece.material import arrangement_of
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.sheet_files import sheet_stem, write_sheet
from coach.sessions.piece.wished import settled_wishes
from coach.sessions.services import Services

PIECES = "pieces"
"""Folder below the usual folder."""


def finished_folder(services: Services, piece: PieceState, day: date) -> Path:
    """Where the files of a piece go that is finished on a day: its title may come again another day."""
    return usual_folder(services) / PIECES / f"{sheet_stem(piece.title)}-{day.isoformat()}"


def write_finished(services: Services, piece: PieceState, day: date) -> tuple[Path, ...]:
    """Write the sheet (PDF, MusicXML, MIDI, lines) and a copy of the last take into one folder.

    Raises
    ------
    ScopeError
        If no change within reason makes the arrangement playable.
    StoreError
        If a file cannot be written, or the take cannot be read.
    """
    folder, lines = finished_folder(services, piece, day), arrangement_of(piece)
    hand = Hand.of(services.current_settings())
    files = write_sheet(services, lines, hand, folder, wishes=settled_wishes(piece, lines))
    return (*files.paths, *_take(services, piece, folder))


def _take(services: Services, piece: PieceState, folder: Path) -> tuple[Path, ...]:
    if not piece.takes:
        return ()
    kept = services.library().find(piece.piece).folder / piece.takes[-1].file
    if not kept.is_file():
        return ()
    path = folder / f"{sheet_stem(piece.title)}{kept.suffix}"
    services.files().write(path, kept.read_bytes())
    return (path,)
