"""What goes in and out as one file: packs, back-ups, learners' reports."""

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Protocol

from coach.notation.arrangement import Arrangement
from coach.practice.events import GridSet, KeyChosen, SectionRecord
from coach.reports.values import Report
from coach.sessions.ports.jobs import Jobs

KEPT_BEFORE = 5
"""So many of the states that made way for a back-up are kept, the latest ones. Our own choice, no source."""


@dataclass(frozen=True, slots=True)
class Pack:
    """A teacher's piece.

    Parameters
    ----------
    word
        What the teacher says to the learner.
    recording_sha256
        Hash of the recording it belongs to; ``None`` if it has none.
    recording
        The recording itself where it is in the pack: a file to copy from.
    grid, key, sections
        What the teacher has set; an empty identifier stands in the events.
    reference
        The lines as the teacher would write them, perhaps simplified; never shown to the learner.
    """

    title: str
    word: str = ""
    recording_sha256: str | None = None
    recording: Path | None = None
    grid: GridSet | None = None
    key: KeyChosen | None = None
    sections: tuple[SectionRecord, ...] = ()
    reference: Arrangement | None = None


@dataclass(frozen=True, slots=True)
class OpenedPack:
    """A pack that was read: its values, and the hash of the file."""

    pack: Pack
    sha256: str


@dataclass(frozen=True, slots=True)
class LearnerFile:
    """One file of the watched folder: a learner's report, or a sentence why it is none."""

    file: str
    report: Report | None
    trouble: str | None = None


@dataclass(frozen=True, slots=True)
class BackupContents:
    """What a back-up holds, told before it is put back.

    Parameters
    ----------
    size_bytes
        Of the file.
    made_on
        Day of its making; ``None`` where the file does not tell.
    pieces
        Titles, in order of choosing.
    entries
        How many events its log holds, ``last_at`` the moment of the last one.
    """

    size_bytes: int
    made_on: date | None = None
    pieces: tuple[str, ...] = ()
    entries: int = 0
    last_at: datetime | None = None


class Exchange(Protocol):
    """Reads and writes the files that are handed from one person or machine to another."""

    def write_pack(self, pack: Pack, path: Path) -> None:
        """Write a pack, whole or not at all; ``StoreError`` if that fails."""
        ...

    def read_pack(self, path: Path, unpacked: Path) -> OpenedPack:
        """Read a pack and check all of it; its recording, if it has one, is put into the folder ``unpacked``.

        Raises
        ------
        InputError
            If it is too large, unsafe, damaged or no pack.
        """
        ...

    def write_backup(self, path: Path, jobs: Jobs | None = None) -> str:
        """Write the data folder into one new file; returns its SHA-256.

        Raises
        ------
        StoreError
            If there is a file of that name already, or it cannot be written.
        """
        ...

    def look_into_backup(self, path: Path, jobs: Jobs | None = None) -> BackupContents:
        """What a back-up holds; ``InputError`` if it is none, damaged, or newer than this app."""
        ...

    def kept_before(self) -> tuple[Path, ...]:
        """The back-ups that `restore` has made of what was there before, the latest first."""
        ...

    def restore(self, path: Path, now: datetime, jobs: Jobs | None = None) -> Path | None:
        """Put a back-up in the place of the data folder, when all of it is proved to be whole.

        Returns
        -------
        Path or None
            The back-up made before of what was there, ``None`` if nothing was.

        Raises
        ------
        InputError
            If the file is no back-up or is damaged; nothing is changed.
        LockedError
            While the app is open.
        CancelledError
            When it was stopped; nothing is changed.
        """
        ...

    def learners(self, folder: Path) -> tuple[LearnerFile, ...]:
        """The reports in a folder, by file name; what is no report says so."""
        ...
