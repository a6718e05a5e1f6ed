import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from coach.errors import LockedError, StoreError
from coach.practice.events import StringTuned
from coach.practice.fold import fold_all
from coach.practice.progress import Progress
from coach.store.database import DATABASE
from coach.store.log import SqliteLog
from coach.store.migrations import MIGRATIONS
from tests.practice_steps import START, begun, finished

KILLED = """
import os, signal, sys
from datetime import UTC, datetime
from pathlib import Path
from coach.practice.events import StringTuned
from coach.store.log import SqliteLog
log = SqliteLog.writing(Path(sys.argv[1]))
for number in range(1, int(sys.argv[2]) + 1):
    log.append(StringTuned(1, float(number)), datetime(2026, 3, 2, tzinfo=UTC))
os.kill(os.getpid(), signal.SIGKILL)
"""


def filled(folder: Path) -> Path:
    log = SqliteLog.writing(folder)
    for event in finished():
        log.append(event, START)
    log.close()
    return folder / DATABASE


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL")
def test_a_killed_program_loses_nothing_it_appended(tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, "-c", KILLED, str(tmp_path), "40"], check=False)
    assert done.returncode == -signal.SIGKILL
    log = SqliteLog.writing(tmp_path)  # the lock went with the program
    assert [each.event for each in log.events()] == [StringTuned(1, float(n)) for n in range(1, 41)]
    assert log.append(StringTuned(2, 0.0), START).seq == 41
    log.close()


def test_the_snapshot_and_the_tail_are_the_full_fold(tmp_path: Path) -> None:
    log = SqliteLog.writing(tmp_path)
    for event in begun():
        log.append(event, START)
    log.close()
    log = SqliteLog.writing(tmp_path)
    for event in finished()[len(begun()) :]:
        log.append(event, START)
    everything = list(log.events())
    assert log.progress() == fold_all(everything)
    log.close()
    assert SqliteLog.reading(tmp_path).progress() == fold_all(everything)


def test_the_snapshot_may_be_deleted_damaged_or_outdated(tmp_path: Path) -> None:
    path = filled(tmp_path)
    whole = SqliteLog.reading(tmp_path).progress()
    for change in (
        "DELETE FROM snapshot",
        "UPDATE snapshot SET payload = '{}'",
        "UPDATE snapshot SET payload = 'nonsense'",
        "UPDATE snapshot SET fold_version = 0",
        "UPDATE snapshot SET seq = 1000",
    ):
        with sqlite3.connect(path) as connection:
            connection.execute(change)
        connection.close()
        assert SqliteLog.reading(tmp_path).progress() == whole


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE event SET at = '' WHERE seq = 1",
        "DELETE FROM event WHERE seq = 1",
        "DELETE FROM event",
        "INSERT OR REPLACE INTO event VALUES (1, '2026-03-02T00:00:00+00:00', 'string_tuned', 1, '{}')",
        "INSERT INTO event VALUES (99, '', 'string_tuned', 1, 'no json')",
        "INSERT INTO event VALUES (99, '', 'string_tuned', 'one', '{}')",
    ],
)
def test_the_log_only_grows(tmp_path: Path, change: str) -> None:
    filled(tmp_path)
    log = SqliteLog.writing(tmp_path)
    before = list(log.events())
    assert log._opened is not None
    with pytest.raises(sqlite3.IntegrityError):
        log._opened.connection.execute(change)
    assert list(log.events()) == before
    log.close()


def test_a_second_writer_is_told_and_readers_are_not_kept_out(tmp_path: Path) -> None:
    log = SqliteLog.writing(tmp_path)
    log.append(StringTuned(1, 0.0), START)
    with pytest.raises(LockedError, match="close it first"):
        SqliteLog.writing(tmp_path)
    reader = SqliteLog.reading(tmp_path)
    assert reader.progress().seq == 1
    log.append(StringTuned(2, 0.0), START)
    assert reader.progress().seq == 2
    with pytest.raises(StoreError, match="reading only"):
        reader.append(StringTuned(3, 0.0), START)
    reader.close()
    log.close()
    SqliteLog.writing(tmp_path).close()


def test_reading_where_there_is_nothing_makes_nothing(tmp_path: Path) -> None:
    log = SqliteLog.reading(tmp_path / "none")
    assert list(log.events()) == []
    assert log.progress() == Progress()
    assert not (tmp_path / "none").exists()


def test_the_database_waits_for_the_disk(tmp_path: Path) -> None:
    log = SqliteLog.writing(tmp_path)
    assert log._opened is not None
    pragmas = {
        name: log._opened.connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "recursive_triggers", "user_version")
    }
    # 2 is FULL (SQLite documentation, PRAGMA synchronous).
    assert pragmas == {
        "journal_mode": "wal",
        "synchronous": 2,
        "recursive_triggers": 1,
        "user_version": len(MIGRATIONS),
    }
    log.close()


def test_a_damaged_file_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / DATABASE).write_bytes(b"not a database" * 100)
    for opens in (SqliteLog.writing, SqliteLog.reading):
        with pytest.raises(StoreError, match="coach restore"):
            opens(tmp_path)


def test_a_newer_database_is_left_alone(tmp_path: Path) -> None:
    path = filled(tmp_path)
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 99")
    connection.close()
    for opens in (SqliteLog.writing, SqliteLog.reading):
        with pytest.raises(StoreError, match="newer version"):
            opens(tmp_path)


def test_a_folder_that_cannot_be_made_is_one_clear_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="name another folder with --data"):
        SqliteLog.writing(tmp_path / "file" / "data")


def test_every_migration_file_is_in_the_list() -> None:
    import coach.store.migrations as package  # noqa: PLC0415 - only this test looks at the files

    files = sorted(path.stem for path in Path(package.__file__ or "").parent.glob("m_*.py"))
    assert [migration.__module__.rpartition(".")[2] for migration in MIGRATIONS] == files


@dataclass
class Told:
    shares: list[float] = field(default_factory=list)

    def progress(self, share: float, what: str) -> None:
        self.shares.append(share)


def test_a_long_log_tells_how_far_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coach.store.log.MANY_EVENTS", 20)
    filled(tmp_path)
    with closing(sqlite3.connect(tmp_path / DATABASE)) as connection:
        connection.execute("DELETE FROM snapshot")
        connection.commit()
    told = Told()
    with closing(SqliteLog.reading(tmp_path)) as log:
        log.progress(told)
        assert len(told.shares) >= 9
        assert told.shares == sorted(told.shares)
        assert 0 < told.shares[0] <= told.shares[-1] <= 1
        told.shares.clear()
        log.progress(told)
    assert told.shares == []
