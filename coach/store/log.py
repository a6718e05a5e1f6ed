"""The log in SQLite: a table that only grows, and a snapshot of the fold that may vanish at any time."""

import json
import sqlite3
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Self

from coach.errors import StoreError
from coach.practice.codec import decode, encode
from coach.practice.events import Event, LoggedEvent
from coach.practice.fold import FOLD_VERSION, fold
from coach.practice.plain import from_plain, to_plain
from coach.practice.progress import Progress
from coach.practice.rules import require_allowed
from coach.sessions.ports import Jobs
from coach.store.database import (
    LOCK,
    Opened,
    open_for_reading,
    open_for_writing,
    told_as_store_error,
)
from coach.store.lock import FolderLock, unwritable
from coach.store.swap import mend

ROWS_AT_ONCE = 2000
SNAPSHOT_EVERY = 500
"""A fold of so many events takes some hundredths of a second."""
MANY_EVENTS = 10_000
"""To read more takes longer than half a second: then it is told how far it is."""
_WIDEST_OFFSET = timedelta(hours=25)
"""Moments are kept with the player's own offset from UTC, which is under a day (PEP 495, ``tzinfo``)."""


class SqliteLog:
    """The `PracticeLog` port. Open it by `writing` or `reading`.

    Every `append` is on the disk before it returns (write-ahead journal, ``synchronous = FULL``). May be used
    from several threads.
    """

    def __init__(self, folder: Path, opened: Opened | None, lock: FolderLock | None) -> None:
        self._folder = folder
        self._opened = opened
        self._lock = lock
        self._guard = threading.RLock()
        self._known: Progress | None = None
        self._snapshot_seq = 0

    @classmethod
    def writing(cls, folder: Path) -> Self:
        """Open for writing, making the folder and the log where there are none.

        Raises
        ------
        LockedError
            If another copy of the app has the folder.
        StoreError
            If the folder cannot be written or the log is damaged.
        """
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise unwritable(folder) from error
        lock = FolderLock(folder / LOCK)
        try:
            mend(folder)
            return cls(folder, open_for_writing(folder), lock)
        except BaseException:
            lock.release()
            raise

    @classmethod
    def reading(cls, folder: Path) -> Self:
        """Open for reading only, which is always allowed; empty where there is no log yet."""
        return cls(folder, open_for_reading(folder), None)

    def append(self, event: Event, at: datetime) -> LoggedEvent:
        """Write one event, and give it back with its number; see `PracticeLog`."""
        if at.tzinfo is None:
            raise ValueError("a moment in the log needs its time zone")
        kind, version, payload = encode(event)
        with self._guard:
            if self._lock is None or self._opened is None:
                raise StoreError(
                    "The log was opened for reading only: close the other copy of the app first."
                )
            before = self.progress()
            require_allowed(before, event)
            with told_as_store_error(self._folder):
                cursor = self._opened.connection.execute(
                    "INSERT INTO event (at, kind, version, payload) VALUES (?, ?, ?, ?)",
                    (at.isoformat(), kind, version, payload),
                )
            logged = LoggedEvent(int(cursor.lastrowid or 0), at, event)
            self._known = fold(before, logged)
            self._keep_snapshot(SNAPSHOT_EVERY)
        return logged

    def events(self, *, since: datetime | None = None, after: int = 0) -> Iterator[LoggedEvent]:
        """Events in order, from a moment or from after a number on; more may be appended meanwhile."""
        earliest = "" if since is None else _coarse(since)
        seq = after
        while rows := self._rows(seq, earliest):
            for seq, at, kind, version, payload in rows:
                moment = datetime.fromisoformat(at)
                if since is None or moment >= since:
                    yield LoggedEvent(seq, moment, decode(kind, version, payload))

    def progress(self, jobs: Jobs | None = None) -> Progress:
        """The fold over the whole log: the snapshot, and the events after it."""
        with self._guard:
            known = self._known or self._snapshot()
            first, count = known.seq, self._last_seq() - known.seq
            for logged in self.events(after=known.seq):
                known = fold(known, logged)
                read = known.seq - first
                if jobs is not None and count >= MANY_EVENTS and read % (count // 10) == 0:
                    jobs.progress(min(1.0, read / count), "Reading the log")
            self._known = known
            self._keep_snapshot(SNAPSHOT_EVERY)
            return known

    def close(self) -> None:
        """Keep a snapshot, let go of the file and of the lock; harmless the second time."""
        with self._guard:
            if self._opened is None:
                return
            self._keep_snapshot(1)
            self._opened.close()
            self._opened = None
            if self._lock is not None:
                self._lock.release()
                self._lock = None

    def _rows(self, after: int, earliest: str) -> list[tuple[int, str, str, int, str]]:
        with self._guard:
            if self._opened is None:
                return []
            with told_as_store_error(self._folder):
                return self._opened.connection.execute(
                    "SELECT seq, at, kind, version, payload FROM event WHERE seq > ? AND at >= ? "
                    "ORDER BY seq LIMIT ?",
                    (after, earliest, ROWS_AT_ONCE),
                ).fetchall()

    def _last_seq(self) -> int:
        if self._opened is None:
            return 0
        with told_as_store_error(self._folder):
            return int(
                self._opened.connection.execute("SELECT coalesce(max(seq), 0) FROM event").fetchone()[0]
            )

    def _snapshot(self) -> Progress:
        """The progress kept, an empty one where there is none that fits this program."""
        if self._opened is None:
            return Progress()
        with told_as_store_error(self._folder):
            row = self._opened.connection.execute(
                "SELECT payload FROM snapshot WHERE fold_version = ? AND seq <= (SELECT max(seq) FROM event)",
                (FOLD_VERSION,),
            ).fetchone()
        if row is None:
            return Progress()
        try:
            found = from_plain(Progress, json.loads(row[0]))
        except ValueError:
            return Progress()
        self._snapshot_seq = found.seq
        return found

    def _keep_snapshot(self, least_new: int) -> None:
        if self._lock is None or self._opened is None or self._known is None:
            return
        if self._known.seq - self._snapshot_seq < least_new:
            return
        payload = json.dumps(to_plain(self._known), ensure_ascii=False, separators=(",", ":"))
        connection = self._opened.connection
        try:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("DELETE FROM snapshot")
            connection.execute(
                "INSERT INTO snapshot (seq, fold_version, payload) VALUES (?, ?, ?)",
                (self._known.seq, FOLD_VERSION, payload),
            )
            connection.execute("COMMIT")
        except sqlite3.Error:
            # A snapshot only saves time: without one the log is read from the beginning.
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        self._snapshot_seq = self._known.seq


def _coarse(since: datetime) -> str:
    """A text that is not above that of any moment from ``since`` on, whatever its offset from UTC."""
    return (since.astimezone(UTC).replace(tzinfo=None) - _WIDEST_OFFSET).isoformat()
