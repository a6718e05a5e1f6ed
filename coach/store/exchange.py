"""The `Exchange` port on the real disk."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from coach.errors import CoachError, StoreError
from coach.reports.json_file import MOST_BYTES, read_report
from coach.sessions.ports import Jobs
from coach.sessions.ports.exchange import BackupContents, LearnerFile, OpenedPack, Pack
from coach.store import packs
from coach.store.backup import FolderBackups
from coach.store.backup_box import look_into

MOST_LEARNERS = 200


@dataclass(frozen=True, slots=True)
class DiskExchange:
    """Packs, back-ups and learners' reports for one data folder."""

    folder: Path

    def write_pack(self, pack: Pack, path: Path) -> None:
        """Write a pack, whole or not at all."""
        packs.write_pack(pack, path)

    def read_pack(self, path: Path, unpacked: Path) -> OpenedPack:
        """Read a pack and check all of it."""
        return packs.read_pack(path, unpacked)

    def write_backup(self, path: Path, jobs: Jobs | None = None) -> str:
        """Write the data folder into one new file; returns its SHA-256."""
        return FolderBackups(self.folder).write(path, jobs)

    def look_into_backup(self, path: Path, jobs: Jobs | None = None) -> BackupContents:
        """What a back-up holds."""
        return look_into(path, jobs)

    def kept_before(self) -> tuple[Path, ...]:
        """What was there before each restore, the latest first."""
        return FolderBackups(self.folder).kept_before()

    def restore(self, path: Path, now: datetime, jobs: Jobs | None = None) -> Path | None:
        """Put a back-up in the place of the data folder."""
        return FolderBackups(self.folder).restore(path, now, jobs)

    def learners(self, folder: Path) -> tuple[LearnerFile, ...]:
        """The reports in a folder, by file name; what is no report says so."""
        try:
            files = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".json")
        except OSError as error:
            raise StoreError(
                f"The folder “{folder}” cannot be read ({error.strerror}): choose another one to watch."
            ) from error
        return tuple(_learner(path) for path in files[:MOST_LEARNERS])


def _learner(path: Path) -> LearnerFile:
    try:
        with path.open("rb") as file:
            return LearnerFile(path.name, read_report(file.read(MOST_BYTES + 1), path.name))
    except CoachError as error:
        return LearnerFile(path.name, None, error.message)
    except OSError as error:
        return LearnerFile(path.name, None, f"“{path.name}” cannot be read ({error.strerror}).")
