"""Exchange with the teacher, and back-ups."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from coach.practice.events.lines import NoteRecord


@dataclass(frozen=True, slots=True)
class PackOpened:
    """A teacher's pack was opened."""

    kind: ClassVar[str] = "pack_opened"
    version: ClassVar[int] = 1
    piece: str
    title: str
    sha256: str


@dataclass(frozen=True, slots=True)
class ReplyOpened:
    """A teacher's reply was opened: a word, a corrected note, a bar less, one more change."""

    kind: ClassVar[str] = "reply_opened"
    version: ClassVar[int] = 1
    piece: str
    word: str
    corrected: tuple[NoteRecord, ...] = ()
    corrected_line: str | None = None
    dropped_sections: tuple[str, ...] = ()
    extra_reopenings: int = 0


@dataclass(frozen=True, slots=True)
class ReportShared:
    """A report was written for the teacher; ``with_takes`` only by the player's own tick."""

    kind: ClassVar[str] = "report_shared"
    version: ClassVar[int] = 1
    since: date | None
    with_takes: bool = False


@dataclass(frozen=True, slots=True)
class BackupMade:
    """A back-up file was written."""

    kind: ClassVar[str] = "backup_made"
    version: ClassVar[int] = 1
    sha256: str
