"""Use cases of keeping what the player has made: where back-ups go, making one, noting it."""

from dataclasses import dataclass
from datetime import date
from itertools import count
from pathlib import Path

from coach.practice.events import BackupMade
from coach.sessions.journal import Journal
from coach.sessions.ports import Jobs
from coach.sessions.ports.shelf import DOCUMENTS, HOME
from coach.sessions.services import Services

FOLDER = "Two-Line Coach"
"""Of the player's own files: below Documents, where people look first."""
_BESIDE_THE_DATA = "out"


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A back-up that was made."""

    path: Path
    size_bytes: int
    sha256: str


def usual_folder(services: Services) -> Path:
    """Where files for the player go: a folder that they find, else one below the data folder."""
    places = {place.name: place.folder for place in services.shelf().places()}
    for name in (DOCUMENTS, HOME):
        if name in places:
            return places[name] / FOLDER
    return services.data_folder / _BESIDE_THE_DATA


def backup_folder(services: Services) -> Path:
    """Where back-ups go: as the player has chosen, as long as that is there."""
    chosen = services.current_settings().backup_folder
    return Path(chosen) if chosen is not None and Path(chosen).is_dir() else usual_folder(services)


def fresh_backup(folder: Path, today: date) -> Path:
    """A file of that day that is not there yet."""
    names = (f"two-line-coach-{today.isoformat()}{'' if n == 1 else f'-{n}'}.zip" for n in count(1))
    return next(folder / name for name in names if not (folder / name).exists())


def back_up(services: Services, path: Path, jobs: Jobs | None = None) -> BackedUp:
    """Write everything into one new file.

    Raises
    ------
    StoreError
        If there is a file of that name already, or it cannot be written.
    CancelledError
        When it was stopped; nothing is left of it.
    """
    digest = services.exchange().write_backup(path, jobs)
    return BackedUp(path, path.stat().st_size, digest)


def note_backup(journal: Journal, made: BackedUp) -> None:
    """Write into the log that a back-up was made; ``StoreError`` if that cannot be written."""
    journal.write(BackupMade(made.sha256))
