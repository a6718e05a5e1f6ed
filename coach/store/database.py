"""Opening the log's database, for writing or for reading only."""

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from coach.errors import StoreError
from coach.store.lock import unwritable
from coach.store.migrations import MIGRATIONS

DATABASE = "log.sqlite3"
LOCK = "coach.lock"


@dataclass(frozen=True, slots=True)
class Opened:
    """An open database, with the temporary copy that it may be."""

    connection: sqlite3.Connection
    copy: tempfile.TemporaryDirectory[str] | None = None

    def close(self) -> None:
        """Close it, and remove the copy."""
        self.connection.close()
        if self.copy is not None:
            self.copy.cleanup()


@contextmanager
def told_as_store_error(folder: Path) -> Iterator[None]:
    """Turn what SQLite complains about into a sentence for the player."""
    try:
        yield
    except sqlite3.OperationalError as error:
        if "readonly" in str(error) or "unable to open" in str(error):
            raise unwritable(folder) from error
        raise StoreError(
            f"The log in “{folder}” could not be used ({error}); what is in it is safe: "
            "free some space on the disk, then try again."
        ) from error
    except sqlite3.DatabaseError as error:
        raise StoreError(
            f"The log in “{folder}” is damaged ({error}): put your last back-up in its place, on the page "
            "“Keep it safe” (from Log) or with “coach restore FILE”."
        ) from error


def open_for_writing(folder: Path) -> Opened:
    """Open the database of a data folder, made or brought to the newest form where needed."""
    with told_as_store_error(folder):
        connection = _connect(f"{(folder / DATABASE).absolute().as_uri()}?mode=rwc")
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")
            _migrate(connection, folder)
        except BaseException:
            connection.close()
            raise
    return Opened(connection)


def open_for_reading(folder: Path) -> Opened | None:
    """Open the database for reading; ``None`` where there is no log yet.

    In a folder that cannot be written SQLite cannot read beside a writer's journal: then a copy is read.
    """
    path = folder / DATABASE
    if not path.is_file():
        return None
    with told_as_store_error(folder):
        try:
            opened = _opened(path)
        except sqlite3.OperationalError:
            opened = _opened_copy(path)
        if _form(opened.connection, folder) == 0:
            opened.close()
            return None
    return opened


def _opened(path: Path) -> Opened:
    connection = _connect(f"{path.absolute().as_uri()}?mode=ro")
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.Error:
        connection.close()
        raise
    return Opened(connection)


def _opened_copy(path: Path) -> Opened:
    copy = tempfile.TemporaryDirectory(prefix="coach-log-")
    try:
        for name in (path.name, path.name + "-wal"):
            if (path.parent / name).exists():
                shutil.copyfile(path.parent / name, Path(copy.name) / name)
    except OSError as error:
        copy.cleanup()
        raise StoreError(
            f"The log “{path}” cannot be read ({error.strerror}): check the rights of its folder."
        ) from error
    return Opened(_connect((Path(copy.name) / path.name).absolute().as_uri()), copy)


def _connect(uri: str) -> sqlite3.Connection:
    # One lock of the log's own guards the connection, so threads may share it.
    connection = sqlite3.connect(uri, uri=True, isolation_level=None, check_same_thread=False, timeout=5.0)
    connection.execute("PRAGMA recursive_triggers = ON")
    return connection


def _form(connection: sqlite3.Connection, folder: Path) -> int:
    found: int = connection.execute("PRAGMA user_version").fetchone()[0]
    if found > len(MIGRATIONS):
        raise StoreError(
            f"The log in “{folder}” was written by a newer version of this app: install that version."
        )
    return found


def _migrate(connection: sqlite3.Connection, folder: Path) -> None:
    for number in range(_form(connection, folder), len(MIGRATIONS)):
        connection.execute("BEGIN IMMEDIATE")
        try:
            MIGRATIONS[number](connection)
            connection.execute(f"PRAGMA user_version = {number + 1}")
        except BaseException:
            connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")
