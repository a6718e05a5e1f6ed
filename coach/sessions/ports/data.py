"""The data folder: log, pieces, cache, settings, files."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

from coach.practice.events import Event, LoggedEvent
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.sessions.ports.jobs import Jobs


class PracticeLog(Protocol):
    """The append-only log of everything that was practised."""

    def append(self, event: Event, at: datetime) -> LoggedEvent:
        """Write one event so that it survives a crash of the program, and give it back with its number.

        Raises
        ------
        StoreError
            If it could not be written or the log was opened for reading only.
        """
        ...

    def events(self, *, since: datetime | None = None, after: int = 0) -> Iterator[LoggedEvent]:
        """Events in order, from a moment or from after a number on."""
        ...

    def progress(self, jobs: Jobs | None = None) -> Progress:
        """The fold over the whole log, by a snapshot and the events after it; tells how far a long one is."""
        ...

    def close(self) -> None:
        """Let go of the file and of the lock."""
        ...


@dataclass(frozen=True, slots=True)
class PieceFiles:
    """What the library holds of one piece: the folder, and the recording kept in it (if any)."""

    piece: str
    title: str
    folder: Path
    recording: Path | None


class PieceLibrary(Protocol):
    """The folders of the pieces: recordings, lines, takes, sheets."""

    def pieces(self) -> tuple[PieceFiles, ...]:
        """All pieces, in order of their making."""
        ...

    def add(self, title: str, recording: Path | None) -> PieceFiles:
        """Make a folder for a new piece and copy its recording into it (named by its hash)."""
        ...

    def add_recording(self, piece: str, recording: Path) -> PieceFiles:
        """Copy a recording into a piece that has none here (named by its hash).

        Raises
        ------
        StoreError
            If there is no such piece, or it could not be written; the piece is as it was.
        """
        ...

    def find(self, piece: str) -> PieceFiles:
        """A piece by its identifier; ``StoreError`` if there is none."""
        ...

    def write(self, piece: str, name: str, data: bytes) -> Path:
        """Write a file of the piece whole or not at all (temporary file, fsync, rename)."""
        ...

    def read(self, piece: str, name: str) -> bytes | None:
        """A file of the piece, ``None`` if there is none."""
        ...


class FileWriter(Protocol):
    """Writes files outside the data folder, for the player."""

    def write(self, path: Path, data: bytes) -> None:
        """Write whole or not at all (temporary file, fsync, rename), making the folder.

        Raises
        ------
        StoreError
            If it could not be written.
        """
        ...


class AnalysisCache(Protocol):
    """A bounded cache on disk; anything in it may vanish at any time."""

    def get(self, key: str) -> bytes | None:
        """What was put under a key (letters, digits, ``-`` and ``_``), ``None`` if it is gone."""
        ...

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key; failing to is not an error."""
        ...


class SettingsStore(Protocol):
    """The player's settings on disk."""

    def load(self) -> Settings:
        """The settings kept, the defaults where there are none or they are broken."""
        ...

    def save(self, settings: Settings) -> None:
        """Keep settings, whole or not at all."""
        ...


class Folder(Protocol):
    """A read-only folder of the project's own data (exercises, assets)."""

    def names(self, suffix: str = "") -> Iterable[str]:
        """Relative names of all files below, with ``/``, sorted."""
        ...

    def read(self, name: str) -> bytes:
        """One file; ``MissingPartError`` if it is not there."""
        ...
