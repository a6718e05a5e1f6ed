"""What a back-up holds, and reading one: nothing in it is believed before its hash is proved."""

import hashlib
import json
import sqlite3
import tempfile
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from coach.errors import UnreadableFileError
from coach.practice.codec import EVENT_CLASSES
from coach.sessions.ports import Jobs
from coach.sessions.ports.exchange import BackupContents
from coach.store.database import DATABASE
from coach.store.log import SqliteLog
from coach.store.migrations import MIGRATIONS
from coach.store.safe_zip import SafeZip, ZipLimits, opened_zip
from coach.store.swap import DRILLS, FILES, JOURNALS, PIECES

MANIFEST = "backup.json"
FORMAT, FORMAT_WITH_DRILLS = 1, 2
"""The second holds drills of the player's own as well; without any the first is written."""
BLOCK = 1 << 20
_MOST_MANIFEST_BYTES = 100_000_000


@dataclass(slots=True)
class ByteMeter:
    """Tells a job how far it is by the bytes that have passed, up to ``most`` of the whole."""

    jobs: Jobs | None
    what: str
    total_bytes: int
    most: float = 1.0
    passed_bytes: int = 0

    def passed(self, size: int) -> None:
        """So many bytes more; `CancelledError` when the job is to stop."""
        self.passed_bytes += size
        if self.jobs is not None:
            share = self.passed_bytes / max(1, self.total_bytes)
            self.jobs.progress(self.most * min(1.0, share), self.what)


def look_into(path: Path, jobs: Jobs | None = None) -> BackupContents:
    """What a back-up says it holds; its log is proved by its hash, the rest when it is put back.

    Raises
    ------
    InputError
        If it is no back-up, damaged, or of a newer version of the app.
    """
    with opened_zip(path, ZipLimits(None, None)) as box, tempfile.TemporaryDirectory() as name:
        hashes = _hashes(box, path.name)
        made = box.day(MANIFEST)
        if DATABASE not in hashes:
            return BackupContents(path.stat().st_size, made)
        meter = ByteMeter(jobs, "Looking into the back-up", box.size(DATABASE))
        _take_out(box, DATABASE, hashes[DATABASE], Path(name), meter)
        _check_database(Path(name), path.name)
        with closing(SqliteLog.reading(Path(name))) as log:
            progress = log.progress(jobs)
    titles = tuple(piece.title for piece in progress.pieces.values())
    return BackupContents(path.stat().st_size, made, titles, progress.seq, progress.at)


def unpack(path: Path, new: Path, jobs: Jobs | None) -> None:
    """Unpack a back-up into a folder and prove that all of it is there and whole.

    Raises
    ------
    InputError
        If it is no back-up, damaged, or of a newer version of the app.
    """
    with opened_zip(path, ZipLimits(None, None)) as box:
        hashes = _hashes(box, path.name)
        meter = ByteMeter(jobs, "Checking the back-up", sum(box.size(name) for name in hashes))
        for name, expected in hashes.items():
            _take_out(box, name, expected, new, meter)
    if (new / DATABASE).exists():
        _check_database(new, path.name)


def _take_out(box: SafeZip, name: str, expected: str, into: Path, meter: ByteMeter) -> None:
    target = into / name
    target.parent.mkdir(parents=True, exist_ok=True)
    digest = hashlib.sha256()
    with target.open("wb") as file:
        for block in box.copy(name, file):
            digest.update(block)
            meter.passed(len(block))
    if digest.hexdigest() != expected:
        raise _damaged(box.name)


def _hashes(box: SafeZip, name: str) -> Mapping[str, str]:
    if MANIFEST not in box.names:
        raise UnreadableFileError(f"“{name}” is not a back-up of this app: choose another file.")
    try:
        about = json.loads(box.read(MANIFEST, _MOST_MANIFEST_BYTES))
        version, hashes = about["format"], about["files"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _damaged(name) from error
    if version not in {FORMAT, FORMAT_WITH_DRILLS}:
        raise _newer(name)
    listed = isinstance(hashes, dict) and set(hashes) == set(box.names) - {MANIFEST}
    tops = (f"{PIECES}/", f"{DRILLS}/")
    if not listed or any(entry not in FILES and not entry.startswith(tops) for entry in hashes):
        raise _damaged(name)
    return {str(key): str(value) for key, value in hashes.items()}


def _check_database(folder: Path, name: str) -> None:
    try:
        with closing(sqlite3.connect(folder / DATABASE)) as connection:
            answer = connection.execute("PRAGMA integrity_check").fetchone()[0]
            form = connection.execute("PRAGMA user_version").fetchone()[0]
            kinds = connection.execute("SELECT kind, max(version) FROM event GROUP BY kind").fetchall()
            connection.execute("SELECT seq, at, kind, version, payload FROM event LIMIT 1").fetchone()
    except sqlite3.Error as error:
        raise _damaged(name) from error
    if answer != "ok":
        raise _damaged(name)
    if form > len(MIGRATIONS) or not all(_known(kind, version) for kind, version in kinds):
        raise _newer(name)
    for journal in JOURNALS:
        (folder / journal).unlink(missing_ok=True)


def _known(kind: object, version: object) -> bool:
    cls = EVENT_CLASSES.get(str(kind))
    return cls is not None and isinstance(version, int) and version <= cls.version


def _damaged(name: str) -> UnreadableFileError:
    return UnreadableFileError(f"The back-up “{name}” is damaged, so nothing was changed: take another one.")


def _newer(name: str) -> UnreadableFileError:
    return UnreadableFileError(f"“{name}” was made by a newer version of this app: install that one.")
