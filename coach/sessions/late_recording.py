"""A recording that comes after its piece (its pack had none, or it was lost); matched by its hash."""

import hashlib
from pathlib import Path

from coach.errors import InputError, ScopeError, UnreadableFileError
from coach.practice.piece_state import PieceState
from coach.sessions.ports.recordings import AUDIO_ENDINGS
from coach.sessions.services import Services

MOST_FILES = 200
"""So many recordings of a folder are looked at."""


def lacks_recording(services: Services, piece: PieceState) -> bool:
    """Whether a piece has a recording somewhere, but not here."""
    return piece.recording_sha256 is not None and services.library().find(piece.piece).recording is None


def add_recording(services: Services, piece: PieceState, recording: Path) -> None:
    """Give a piece the recording that it was made with.

    Raises
    ------
    ScopeError
        If the piece has its recording already, or never had one.
    InputError
        If this is another file, or cannot be read or heard; nothing is changed then.
    """
    if not lacks_recording(services, piece):
        raise ScopeError(f"“{piece.title}” needs no recording: go on with it from Today.")
    services.library().add_recording(piece.piece, proved(services, piece.recording_sha256, recording))


def proved(services: Services, sha256: str | None, recording: Path) -> Path:
    """The recording, if it is the very file of this hash and can be heard; ``InputError`` if not."""
    if hash_of(recording) != sha256:
        raise InputError(
            f"“{recording.name}” is another recording than the one of this piece, if only by another "
            "saving of the same music: choose the very same file, or ask your teacher for it."
        )
    services.decoder().decode(recording)
    return recording


def beside(path: Path, sha256: str | None) -> Path | None:
    """The recording of a hash that lies in the same folder as a file, ``None`` if none does."""
    if sha256 is None:
        return None
    try:
        files = sorted(each for each in path.parent.iterdir() if each.suffix.lower() in AUDIO_ENDINGS)
        return next((each for each in files[:MOST_FILES] if each.is_file() and hash_of(each) == sha256), None)
    except (OSError, UnreadableFileError):
        return None


def hash_of(path: Path) -> str:
    """SHA-256 of a file's bytes, hexadecimal; ``UnreadableFileError`` if it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise UnreadableFileError(
            f"“{path}” cannot be read ({error.strerror}): choose another file."
        ) from error
