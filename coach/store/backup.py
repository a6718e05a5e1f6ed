"""The whole data folder as one file, and back: proved whole by hashes, never written over anything."""

import hashlib
import json
import os
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import datetime
from errno import EACCES, EDQUOT, ENOSPC, EPERM, EROFS
from pathlib import Path

from coach.errors import StoreError
from coach.sessions.ports import Jobs
from coach.sessions.ports.exchange import KEPT_BEFORE
from coach.store.backup_box import BLOCK, FORMAT, FORMAT_WITH_DRILLS, MANIFEST, ByteMeter, unpack
from coach.store.database import DATABASE, LOCK, open_for_reading, told_as_store_error
from coach.store.lock import FolderLock, unwritable
from coach.store.swap import DRILLS, KEPT, mend, swapping

BACKUPS, BEFORE = "backups", "before-restore-"
"""Where and under which name what was there before a restore is kept."""
WRITING_SHARE = 0.9
"""Of the time of a back-up; the rest is its hash (measured roughly)."""
_PACKED_ALREADY = frozenset(
    {".flac", ".mp3", ".m4a", ".mp4", ".aac", ".ogg", ".oga", ".opus", ".png", ".pdf"}
)
_NO_ROOM, _NO_RIGHT = {ENOSPC, EDQUOT}, {EACCES, EPERM, EROFS}


@dataclass(frozen=True, slots=True)
class FolderBackups:
    """Back-ups of one data folder."""

    folder: Path

    def write(self, path: Path, jobs: Jobs | None = None, *, even_damaged: bool = False) -> str:
        """Write the data folder into one new file; returns its SHA-256.

        Parameters
        ----------
        even_damaged
            Whether to keep the bytes of a damaged log as they are; ``StoreError`` by default.
        """
        if path.exists():
            raise StoreError(f"“{path}” is there already: name another file, a back-up never overwrites one.")
        try:
            return self._make(path, jobs, even_damaged=even_damaged)
        except OSError as error:
            raise _not_written(path, error) from error

    def restore(self, path: Path, now: datetime, jobs: Jobs | None = None) -> Path | None:
        """Put a back-up in the place of what is there; see `Exchange`."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise unwritable(self.folder) from error
        lock = FolderLock(self.folder / LOCK)
        try:
            mend(self.folder)
            with swapping(self.folder) as swap:
                unpack(path, swap.new, jobs)
                before = self._backed_up_before(now, jobs)
                swap.do()
            self._clear_away(but=(path, before))
        except OSError as error:
            raise _not_restored(self.folder, error) from error
        finally:
            lock.release()
        return before

    def kept_before(self) -> tuple[Path, ...]:
        """What was there before each restore, the latest first."""
        found = (self.folder / BACKUPS).glob(f"{BEFORE}*.zip")
        return tuple(sorted(found, key=lambda path: (path.stat().st_mtime_ns, path.name), reverse=True))

    def _clear_away(self, but: Sequence[Path | None]) -> None:
        """Keep the last few of what was there before; what cannot be cleared away stays."""
        spared = {path.resolve() for path in but if path is not None}
        for old in self.kept_before()[KEPT_BEFORE:]:
            if old.resolve() not in spared:
                with suppress(OSError):
                    old.unlink()

    def _make(self, path: Path, jobs: Jobs | None, *, even_damaged: bool) -> str:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".backup-", dir=path.parent) as name:
            making = Path(name) / "making.zip"
            self._write(making, Path(name), jobs, even_damaged=even_damaged)
            digest = _hash(making, jobs)
            _put(making, path)
        return digest

    def _write(self, making: Path, room: Path, jobs: Jobs | None, *, even_damaged: bool) -> None:
        files = dict(self._files())
        try:
            database = self._database_copy(room)
        except StoreError:
            if not even_damaged:
                raise
            database = self.folder / DATABASE
        if database is not None:
            files[DATABASE] = database
        total = sum(source.stat().st_size for source in files.values())
        meter = ByteMeter(jobs, "Backing up", total, WRITING_SHARE)
        hashes: dict[str, str] = {}
        with zipfile.ZipFile(making, "w", zipfile.ZIP_DEFLATED, compresslevel=3) as archive:
            for name, source in sorted(files.items()):
                hashes[name] = _add(archive, name, source, meter)
            drills = any(name.startswith(f"{DRILLS}/") for name in hashes)
            about = {"format": FORMAT_WITH_DRILLS if drills else FORMAT, "files": hashes}
            archive.writestr(MANIFEST, json.dumps(about, ensure_ascii=False, indent=1))
        with making.open("rb") as file:
            os.fsync(file.fileno())

    def _files(self) -> Iterator[tuple[str, Path]]:
        for top in KEPT:
            place = self.folder / top
            if place.is_file() and top != DATABASE:
                yield top, place
            for path in sorted(place.rglob("*")) if place.is_dir() else ():
                name = path.relative_to(self.folder).as_posix()
                hidden = any(part.startswith(".") for part in path.relative_to(place).parts)
                if path.is_file() and not path.is_symlink() and not hidden:
                    yield name, path

    def _database_copy(self, room: Path) -> Path | None:
        """A consistent copy of the log, even while the app writes to it (SQLite's own online back-up)."""
        opened = open_for_reading(self.folder)
        if opened is None:
            return None
        copy = room / DATABASE
        with closing(opened), told_as_store_error(self.folder), closing(sqlite3.connect(copy)) as target:
            try:
                opened.connection.backup(target)
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode == sqlite3.SQLITE_FULL:
                    # No fault of the log: it must not be taken for a damaged one.
                    raise OSError(ENOSPC, "No space left on device") from error
                raise
        return copy

    def _backed_up_before(self, now: datetime, jobs: Jobs | None) -> Path | None:
        if not any((self.folder / top).exists() for top in KEPT):
            return None
        folder = self.folder / BACKUPS
        base = f"{BEFORE}{now:%Y%m%d-%H%M%S}"
        free = (folder / f"{base}{'' if n == 1 else f'-{n}'}.zip" for n in range(1, 1000))
        path = next(path for path in free if not path.exists())
        # A damaged log is why one restores: it must not stand in the way.
        self._make(path, jobs, even_damaged=True)
        return path


def _put(making: Path, path: Path) -> None:
    """Give the finished file its name, unless a file of that name has come up meanwhile."""
    try:
        os.link(making, path)
    except FileExistsError as error:
        raise StoreError(f"“{path}” is there already: name another file.") from error
    except OSError:
        # A file system without hard links: the small window between test and rename has to do.
        if path.exists():
            raise
        shutil.move(making, path)


def _add(archive: zipfile.ZipFile, name: str, source: Path, meter: ByteMeter) -> str:
    """Add a file block by block; returns its SHA-256."""
    digest = hashlib.sha256()
    info = zipfile.ZipInfo.from_file(source, name, strict_timestamps=False)
    packed = source.suffix.lower() in _PACKED_ALREADY
    info.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
    with source.open("rb") as file, archive.open(info, "w", force_zip64=True) as entry:
        while block := file.read(BLOCK):
            digest.update(block)
            entry.write(block)
            meter.passed(len(block))
    return digest.hexdigest()


def _hash(path: Path, jobs: Jobs | None) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(BLOCK):
            digest.update(block)
            if jobs is not None:
                jobs.progress(WRITING_SHARE, "Backing up")
    return digest.hexdigest()


def _not_written(path: Path, error: OSError) -> StoreError:
    if error.errno in _NO_ROOM:
        return StoreError(
            f"There is not enough room for the back-up in “{path.parent}”: free some space there, "
            "or choose another folder."
        )
    if error.errno in _NO_RIGHT:
        return StoreError(f"Nothing may be written into “{path.parent}”: choose another folder.")
    return StoreError(
        f"The back-up “{path}” cannot be written ({error.strerror or error}): choose another place."
    )


def _not_restored(folder: Path, error: OSError) -> StoreError:
    if error.errno in _NO_ROOM:
        return StoreError(
            f"There is not enough room beside your data in “{folder}” to unpack the back-up and to keep what "
            "is there, so nothing was changed: free some space on that disk."
        )
    return unwritable(folder)
