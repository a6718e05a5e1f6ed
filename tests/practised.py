"""A data folder in which a piece was begun, for the commands that read it."""

import hashlib
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from coach.practice.events import Event, PieceChosen
from coach.store.log import SqliteLog
from coach.store.pieces import FolderLibrary
from tests.practice_steps import START, begun, section_done

PIECE = "001-lark"


def practised(folder: Path, *more: Event) -> Path:
    """A folder with the piece “Lark” in hand, its recording, and one section of two done."""
    recording = folder.parent / "lark.wav"
    recording.write_bytes(b"RIFF" + bytes(1000))
    FolderLibrary(folder / "pieces").add("Lark", recording)
    sha256 = hashlib.sha256(recording.read_bytes()).hexdigest()
    with closing(SqliteLog.writing(folder)) as log:
        for event in (*begun(PIECE), *section_done("A", piece=PIECE), *more):
            chosen = isinstance(event, PieceChosen)
            log.append(replace(event, title="Lark", recording_sha256=sha256) if chosen else event, START)
    return folder
