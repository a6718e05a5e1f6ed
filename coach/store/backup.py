"""The whole data folder as one file, and back: proved whole by hashes, never written over anything."""

import hashlib
import json
import os
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from coach.errors import StoreError, UnreadableFileError
from coach.sessions.ports import Jobs
from coach.store.database import DATABASE, LOCK, open_for_reading, told_as_store_error
from coach.store.lock import FolderLock, unwritable
from coach.store.safe_zip import Limits, SafeZip, opened_zip

MANIFEST = "backup.json"
FORMAT = 1
FILES = (DATABASE, "settings.json")
PIECES = "pieces/"
KEPT = (*FILES, PIECES.rstrip("/"))
"""What a back-up holds; the cache can be computed again."""
BACKUPS = "backups"
_JOURNALS = (f"{DATABASE}-wal", f"{DATABASE}-shm")
_BLOCK = 1 << 20
_MOST_MANIFEST_BYTES = 100_000_000


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
            path.parent.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(prefix=".backup-", dir=path.parent) as name:
                making = Path(name) / "making.zip"
                self._write(making, Path(name), jobs, even_damaged=even_damaged)
                digest = _hash(making)
                _put(making, path)
        except OSError as error:
            raise StoreError(
                f"The back-up “{path}” cannot be written ({error.strerror or error}): choose another place."
            ) from error
        return digest

    def restore(self, path: Path, now: datetime, jobs: Jobs | None = None) -> Path | None:
        """Put a back-up in the place of what is there; see `Exchange`."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise unwritable(self.folder) from error
        lock = FolderLock(self.folder / LOCK)
        try:
            with tempfile.TemporaryDirectory(prefix=".restoring-", dir=self.folder) as name:
                new, old = Path(name) / "new", Path(name) / "old"
                new.mkdir()
                old.mkdir()
                _unpack(path, new, jobs)
                before = self._backed_up_before(now, jobs)
                self._swap(new, old)
        except OSError as error:
            raise unwritable(self.folder) from error
        finally:
            lock.release()
        return before

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
        hashes: dict[str, str] = {}
        with zipfile.ZipFile(making, "w", zipfile.ZIP_DEFLATED, compresslevel=3) as archive:
            for index, (name, source) in enumerate(sorted(files.items())):
                if jobs is not None:
                    jobs.progress(index / len(files), "Backing up")
                hashes[name] = _add(archive, name, source)
            about = {"format": FORMAT, "files": hashes}
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
        with told_as_store_error(self.folder), closing(sqlite3.connect(copy)) as target:
            opened.connection.backup(target)
        opened.close()
        return copy

    def _backed_up_before(self, now: datetime, jobs: Jobs | None) -> Path | None:
        if not any((self.folder / top).exists() for top in KEPT):
            return None
        folder = self.folder / BACKUPS
        base = f"before-restore-{now:%Y%m%d-%H%M%S}"
        free = (folder / f"{base}{'' if n == 1 else f'-{n}'}.zip" for n in range(1, 1000))
        path = next(path for path in free if not path.exists())
        # A damaged log is why one restores: it must not stand in the way.
        self.write(path, jobs, even_damaged=True)
        return path

    def _swap(self, new: Path, old: Path) -> None:
        """Move what is there away and the new in; back again if that fails half-way."""
        names = (*KEPT, *_JOURNALS)
        try:
            for name in names:
                if (self.folder / name).exists():
                    (self.folder / name).rename(old / name)
            for name in KEPT:
                if (new / name).exists():
                    (new / name).rename(self.folder / name)
        except OSError:
            for name in names:
                if (old / name).exists():
                    if (self.folder / name).exists():
                        (self.folder / name).rename(new / f"half-{name}")
                    (old / name).rename(self.folder / name)
            raise


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


def _unpack(path: Path, new: Path, jobs: Jobs | None) -> None:
    """Unpack a back-up and prove that all of it is there and whole."""
    with opened_zip(path, Limits(None, None)) as box:
        hashes = _hashes(box, path.name)
        for index, (name, expected) in enumerate(hashes.items()):
            if jobs is not None:
                jobs.progress(index / len(hashes), "Checking the back-up")
            target = new / name
            target.parent.mkdir(parents=True, exist_ok=True)
            digest = hashlib.sha256()
            with target.open("wb") as file:
                for block in box.copy(name, file):
                    digest.update(block)
            if digest.hexdigest() != expected:
                raise _damaged(path.name)
    if (new / DATABASE).exists():
        _check_database(new, path.name)


def _hashes(box: SafeZip, name: str) -> dict[str, str]:
    if MANIFEST not in box.names:
        raise UnreadableFileError(f"“{name}” is not a back-up of this app: choose another file.")
    try:
        about = json.loads(box.read(MANIFEST, _MOST_MANIFEST_BYTES))
        version, hashes = about["format"], about["files"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _damaged(name) from error
    if version != FORMAT:
        raise UnreadableFileError(f"“{name}” was made by a newer version of this app: install that one.")
    listed = isinstance(hashes, dict) and set(hashes) == set(box.names) - {MANIFEST}
    if not listed or any(entry not in FILES and not entry.startswith(PIECES) for entry in hashes):
        raise _damaged(name)
    return {str(key): str(value) for key, value in hashes.items()}


def _check_database(folder: Path, name: str) -> None:
    try:
        with closing(sqlite3.connect(folder / DATABASE)) as connection:
            answer = connection.execute("PRAGMA integrity_check").fetchone()[0]
            connection.execute("SELECT seq, at, kind, version, payload FROM event LIMIT 1").fetchone()
    except sqlite3.Error as error:
        raise _damaged(name) from error
    if answer != "ok":
        raise _damaged(name)
    for journal in _JOURNALS:
        (folder / journal).unlink(missing_ok=True)


def _damaged(name: str) -> UnreadableFileError:
    return UnreadableFileError(f"The back-up “{name}” is damaged, so nothing was changed: take another one.")


def _add(archive: zipfile.ZipFile, name: str, source: Path) -> str:
    """Add a file block by block; returns its SHA-256."""
    digest = hashlib.sha256()
    info = zipfile.ZipInfo.from_file(source, name, strict_timestamps=False)
    info.compress_type = zipfile.ZIP_DEFLATED
    with source.open("rb") as file, archive.open(info, "w", force_zip64=True) as entry:
        while block := file.read(_BLOCK):
            digest.update(block)
            entry.write(block)
    return digest.hexdigest()


def _hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
