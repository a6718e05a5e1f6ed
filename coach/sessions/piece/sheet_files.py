"""Sheet files: fingered, engraved, and written whole."""

from dataclasses import dataclass
from pathlib import Path

from coach.errors import ScopeError
from coach.fretboard import NO_WISHES, Wishes
from coach.notation import Arrangement
from coach.pieces.change_search import Proposal
from coach.pieces.changes import Mended, mend
from coach.sessions.file_names import file_stem
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.services import Services
from coach.sheet.engrave import EngravedSheet, engrave
from coach.sheet.from_fretboard import marks_of
from coach.sheet.lines_json import write_lines
from coach.sheet.midi_out import write_midi
from coach.sheet.musicxml_out import write_musicxml


@dataclass(frozen=True, slots=True)
class SheetFiles:
    """What was written, and how it can be played."""

    paths: tuple[Path, ...]
    mended: Mended


def sheet_stem(title: str) -> str:
    """What a piece's files are called."""
    return file_stem(title.lower(), "sheet")


def write_sheet(
    services: Services,
    arrangement: Arrangement,
    hand: Hand,
    folder: Path,
    *,
    wishes: Wishes = NO_WISHES,
) -> SheetFiles:
    """Finger an arrangement, engrave it, and write PDF, MusicXML, MIDI and lines JSON into a folder.

    Parameters
    ----------
    services
        Fonts, and files to be written.
    arrangement, hand
        What is played, by whom.
    folder
        Where the files go.
    wishes
        Fingers that are settled: see `coach.sessions.piece.wished.settled_wishes`.

    Raises
    ------
    ScopeError
        If no change within reason makes it playable.
    StoreError
        If a file cannot be written.
    """
    mended, best = _mended(arrangement, hand, wishes)
    playable, marks = best.arrangement, marks_of(best.fingering)
    engraved = engrave(playable, marks, services.fonts())
    stem = sheet_stem(arrangement.title)
    contents = {
        ".pdf": engraved.pdf,
        ".musicxml": write_musicxml(playable, marks),
        ".mid": write_midi(playable),
        ".json": write_lines(playable),
    }
    paths = []
    for ending, data in contents.items():
        path = folder / f"{stem}{ending}"
        services.files().write(path, data)
        paths.append(path)
    return SheetFiles(tuple(paths), mended)


def engraved_sheet(
    services: Services, arrangement: Arrangement, hand: Hand, *, wishes: Wishes = NO_WISHES
) -> EngravedSheet:
    """The same sheet to be looked at; nothing is written. ``ScopeError`` as `write_sheet`."""
    _, best = _mended(arrangement, hand, wishes)
    return engrave(best.arrangement, marks_of(best.fingering), services.fonts())


def _mended(arrangement: Arrangement, hand: Hand, wishes: Wishes) -> tuple[Mended, Proposal]:
    mended = mend(arrangement, tuning=hand.tuning, reach=hand.reach, wishes=wishes)
    if mended.best is None:
        raise ScopeError(f"These lines cannot be played so: {mended.blocked[0].reason}")
    return mended, mended.best
