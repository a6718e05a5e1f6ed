import errno
import hashlib
import json
import os
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coach.errors import CancelledError, LockedError, StoreError, UnreadableFileError
from coach.practice.events import StringTuned
from coach.practice.settings import Settings
from coach.sessions.ports.exchange import KEPT_BEFORE
from coach.store.backup import FolderBackups
from coach.store.backup_box import look_into
from coach.store.log import SqliteLog
from coach.store.pieces import FolderLibrary
from coach.store.safe_zip import SafeZip
from coach.store.settings import JsonSettings
from coach.store.swap import KEPT
from tests.practice_steps import START, finished, progress_of

NOW = datetime(2026, 5, 4, 12, 30, tzinfo=START.tzinfo)


def fill(folder: Path, *, strings: int = 1) -> Path:
    log = SqliteLog.writing(folder)
    for event in (*finished(), *[StringTuned(1, 0.0)] * strings):
        log.append(event, START)
    log.close()
    JsonSettings(folder / "settings.json").save(Settings(minutes_a_day=30 + strings))
    library = FolderLibrary(folder / "pieces")
    library.write(library.add("Lark", None).piece, "takes/1.flac", bytes(10_000))
    (folder / "cache").mkdir(exist_ok=True)
    (folder / "cache" / "x.cache").write_bytes(b"x")
    return folder


def contents(folder: Path) -> dict[str, str]:
    """Hashes of all kept files, and all events."""
    found = {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).parts[0] in {"pieces", "settings.json"}
    }
    log = SqliteLog.reading(folder)
    found["events"] = repr(list(log.events()))
    log.close()
    return found


def test_a_back_up_is_the_whole_folder_again(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    digest = FolderBackups(folder).write(tmp_path / "b.zip")
    assert digest == hashlib.sha256((tmp_path / "b.zip").read_bytes()).hexdigest()
    before = FolderBackups(tmp_path / "new").restore(tmp_path / "b.zip", NOW)
    assert before is None
    assert contents(tmp_path / "new") == contents(folder)
    assert not (tmp_path / "new" / "cache").exists()


def test_a_back_up_is_made_while_the_app_writes(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    log = SqliteLog.writing(folder)
    log.append(StringTuned(2, 0.0), START)
    FolderBackups(folder).write(tmp_path / "b.zip")
    log.append(StringTuned(3, 0.0), START)
    log.close()
    FolderBackups(tmp_path / "new").restore(tmp_path / "b.zip", NOW)
    restored = SqliteLog.reading(tmp_path / "new")
    assert list(restored.events())[-1].event == StringTuned(2, 0.0)


def test_a_back_up_never_overwrites(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    (tmp_path / "b.zip").write_bytes(b"mine")
    with pytest.raises(StoreError, match="never overwrites"):
        FolderBackups(folder).write(tmp_path / "b.zip")
    assert (tmp_path / "b.zip").read_bytes() == b"mine"
    assert {path.name for path in tmp_path.iterdir()} == {"data", "b.zip"}


def test_what_was_there_is_backed_up_first(tmp_path: Path) -> None:
    old, new = fill(tmp_path / "old"), fill(tmp_path / "new", strings=3)
    was = contents(new)
    FolderBackups(old).write(tmp_path / "b.zip")
    before = FolderBackups(new).restore(tmp_path / "b.zip", NOW)
    assert before == new / "backups" / "before-restore-20260504-123000.zip"
    assert contents(new) == contents(old)
    again = FolderBackups(new).restore(before, NOW)
    assert contents(new) == was
    assert again is not None
    assert again.name == "before-restore-20260504-123000-2.zip"
    assert not [path for path in new.iterdir() if path.name.startswith(".")]


def test_a_damaged_log_gives_way_to_a_back_up(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    FolderBackups(folder).write(tmp_path / "b.zip")
    was = contents(folder)
    for each in folder.glob("log.sqlite3*"):
        each.unlink()
    (folder / "log.sqlite3").write_bytes(b"junk" * 1000)
    with pytest.raises(StoreError, match="damaged"):
        FolderBackups(folder).write(tmp_path / "c.zip")
    before = FolderBackups(folder).restore(tmp_path / "b.zip", NOW)
    assert contents(folder) == was
    assert before is not None
    with zipfile.ZipFile(before) as kept:
        assert kept.read("log.sqlite3") == b"junk" * 1000


def rewritten(path: Path, change: Callable[[dict[str, bytes]], object]) -> Path:
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    bad = path.with_name("bad.zip")
    with zipfile.ZipFile(bad, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return bad


def about(entries: dict[str, bytes], **change: object) -> None:
    entries["backup.json"] = json.dumps({**json.loads(entries["backup.json"]), **change}).encode()


def other_database() -> bytes:
    """A whole database that is no log of ours."""
    with closing(sqlite3.connect(":memory:")) as other:
        other.execute("CREATE TABLE t (x)")
        return other.serialize()


def listed(entries: dict[str, bytes], name: str, data: bytes) -> None:
    """Put in a file with its right hash."""
    entries[name] = data
    hashes = json.loads(entries["backup.json"])["files"]
    about(entries, files={**hashes, name: hashlib.sha256(data).hexdigest()})


@pytest.mark.parametrize(
    "change",
    [
        lambda files: files.update({"settings.json": b"{}"}),
        lambda files: files.pop("settings.json"),
        lambda files: files.pop("backup.json"),
        lambda files: files.update({"backup.json": b"[]"}),
        lambda files: files.update({"extra.txt": b""}),
        lambda files: listed(files, "extra.txt", b""),
        lambda files: listed(files, "log.sqlite3", b"no database"),
        lambda files: about(files, format=3),
        lambda files: listed(files, "settings.json/x", b""),
        lambda files: listed(files, "log.sqlite3", other_database()),
        lambda files: files.update({"backup.json": b"[" * 200_000}),
    ],
)
def test_a_damaged_back_up_changes_nothing(
    tmp_path: Path, change: Callable[[dict[str, bytes]], object]
) -> None:
    folder = fill(tmp_path / "data")
    FolderBackups(folder).write(tmp_path / "b.zip")
    bad = rewritten(tmp_path / "b.zip", change)
    was = contents(folder)
    with pytest.raises(UnreadableFileError):
        FolderBackups(folder).restore(bad, NOW)
    assert contents(folder) == was
    assert not (folder / "backups").exists()
    assert not [path for path in folder.iterdir() if path.name.startswith(".")]


def test_a_cut_off_back_up_changes_nothing(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    FolderBackups(folder).write(tmp_path / "b.zip")
    data = (tmp_path / "b.zip").read_bytes()
    (tmp_path / "b.zip").write_bytes(data[: len(data) // 2])
    was = contents(folder)
    with pytest.raises(UnreadableFileError):
        FolderBackups(folder).restore(tmp_path / "b.zip", NOW)
    assert contents(folder) == was


def test_while_the_app_is_open_nothing_is_restored(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    FolderBackups(folder).write(tmp_path / "b.zip")
    log = SqliteLog.writing(folder)
    with pytest.raises(LockedError):
        FolderBackups(folder).restore(tmp_path / "b.zip", NOW)
    log.close()


class Telling:
    """The `Jobs` port: remembers what is told, and stops the work after so many words."""

    def __init__(self, stop_after: int | None = None) -> None:
        self.told: list[tuple[float, str]] = []
        self.stop_after = stop_after

    def progress(self, share: float, what: str) -> None:
        self.told.append((share, what))
        if self.stop_after is not None and len(self.told) > self.stop_after:
            raise CancelledError("Stopped.")


def test_progress_goes_by_bytes_and_stopping_leaves_nothing(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    (take,) = folder.glob("pieces/*/takes/1.flac")
    take.write_bytes(os.urandom(5 << 20))
    jobs = Telling()
    FolderBackups(folder).write(tmp_path / "b.zip", jobs)
    shares = [share for share, _ in jobs.told]
    assert shares == sorted(shares)
    assert len([share for share in shares if 0.1 < share < 0.8]) >= 3
    assert 0.85 < shares[-1] <= 1
    was = contents(folder)
    with pytest.raises(CancelledError):
        FolderBackups(folder).write(tmp_path / "c.zip", Telling(stop_after=3))
    looked = Telling()
    FolderBackups(tmp_path / "new").restore(tmp_path / "b.zip", NOW, looked)
    for words in range(len(looked.told)):
        with pytest.raises(CancelledError):
            FolderBackups(folder).restore(tmp_path / "b.zip", NOW, Telling(stop_after=words))
    assert contents(folder) == was
    assert {path.name for path in tmp_path.iterdir()} == {"data", "b.zip", "new"}
    assert not list(folder.rglob(".*"))


def test_a_back_up_says_what_is_in_it(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    FolderBackups(folder).write(tmp_path / "b.zip")
    jobs = Telling()
    told = look_into(tmp_path / "b.zip", jobs)
    assert jobs.told[-1] == (1.0, "Looking into the back-up")
    with pytest.raises(CancelledError):
        look_into(tmp_path / "b.zip", Telling(stop_after=0))
    progress = progress_of(*finished())
    assert told.size_bytes == (tmp_path / "b.zip").stat().st_size
    assert told.made_on is not None
    assert abs(told.made_on - datetime.now(UTC).date()) <= timedelta(days=1)
    assert told.pieces == tuple(piece.title for piece in progress.pieces.values())
    assert (told.entries, told.last_at) == (progress.seq + 1, START)
    empty = tmp_path / "empty"
    empty.mkdir()
    FolderBackups(empty).write(tmp_path / "e.zip")
    assert (look_into(tmp_path / "e.zip").pieces, look_into(tmp_path / "e.zip").entries) == ((), 0)


TOMORROWS = "INSERT INTO event VALUES (NULL, '2026-01-01T00:00:00+00:00', 'of_tomorrow', 1, '{}')"


@pytest.mark.parametrize("statement", ["PRAGMA user_version = 99", TOMORROWS])
def test_a_newer_log_is_not_put_where_this_app_could_not_read_it(tmp_path: Path, statement: str) -> None:
    folder, newer = fill(tmp_path / "data"), fill(tmp_path / "newer")
    with closing(sqlite3.connect(newer / "log.sqlite3")) as log:
        log.execute(statement)
        log.commit()
    was = contents(folder)
    # The newer app writes it; this one only copies bytes.
    FolderBackups(newer).write(tmp_path / "b.zip", even_damaged=True)
    with pytest.raises(UnreadableFileError, match="newer version"):
        look_into(tmp_path / "b.zip")
    with pytest.raises(UnreadableFileError, match="newer version"):
        FolderBackups(folder).restore(tmp_path / "b.zip", NOW)
    assert contents(folder) == was


def test_drills_of_ones_own_go_along_and_stay_where_a_back_up_has_none(tmp_path: Path) -> None:
    old, folder = fill(tmp_path / "old"), fill(tmp_path / "data")
    (folder / "drills").mkdir()
    (folder / "drills" / "mine.toml").write_text("mine")
    FolderBackups(old).write(tmp_path / "without.zip")
    FolderBackups(folder).write(tmp_path / "with.zip")
    FolderBackups(folder).restore(tmp_path / "without.zip", NOW)
    assert (folder / "drills" / "mine.toml").read_text() == "mine"
    (folder / "drills" / "mine.toml").write_text("other")
    FolderBackups(folder).restore(tmp_path / "with.zip", NOW)
    assert (folder / "drills" / "mine.toml").read_text() == "mine"


@pytest.mark.parametrize(
    ("number", "says"), [(errno.ENOSPC, "not enough room"), (errno.EACCES, "Nothing may be written")]
)
def test_why_a_back_up_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, says: str
) -> None:
    folder = fill(tmp_path / "data")

    def failing(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(zipfile.ZipFile, "writestr", failing)
    with pytest.raises(StoreError, match=says) as raised:
        FolderBackups(folder).write(tmp_path / "out" / "b.zip")
    assert str(tmp_path / "out") in raised.value.message
    assert not list((tmp_path / "out").iterdir())


def test_a_disk_too_full_to_unpack_on_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = fill(tmp_path / "data")
    FolderBackups(folder).write(tmp_path / "b.zip")
    was = contents(folder)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(SafeZip, "copy", full)
    with pytest.raises(StoreError, match="not enough room"):
        FolderBackups(folder).restore(tmp_path / "b.zip", NOW)
    assert contents(folder) == was


def test_a_full_disk_is_not_taken_for_a_damaged_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = fill(tmp_path / "data")
    FolderBackups(folder).write(tmp_path / "b.zip")
    was = contents(folder)
    connect = sqlite3.connect

    def small(place: object, **options: object) -> sqlite3.Connection:
        connection = connect(place, **options)  # type: ignore[call-overload]
        if ".backup-" in str(place):
            connection.execute("PRAGMA max_page_count = 1")  # SQLite: then it answers as on a full disk
        return connection

    monkeypatch.setattr(sqlite3, "connect", small)
    with pytest.raises(StoreError, match="not enough room for the back-up"):
        FolderBackups(folder).write(tmp_path / "c.zip")
    with pytest.raises(StoreError, match="not enough room beside your data"):
        FolderBackups(folder).restore(tmp_path / "b.zip", NOW)
    monkeypatch.undo()
    assert contents(folder) == was
    assert not list((folder / "backups").glob("*.zip"))


def test_the_latest_of_what_was_there_before_comes_first(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    backups = FolderBackups(folder)
    assert backups.kept_before() == ()
    backups.write(tmp_path / "b.zip")
    kept = [backups.restore(tmp_path / "b.zip", NOW + timedelta(days=days)) for days in (0, 1)]
    assert backups.kept_before() == tuple(reversed(kept))


def test_only_the_last_few_states_from_before_are_kept(tmp_path: Path) -> None:
    """The one that is put in place itself stays, however old."""
    folder = fill(tmp_path / "data")
    backups = FolderBackups(folder)
    backups.write(tmp_path / "b.zip")
    days = [NOW + timedelta(days=number) for number in range(KEPT_BEFORE + 2)]
    kept = [backups.restore(tmp_path / "b.zip", day) for day in days]
    assert backups.kept_before() == tuple(reversed(kept[2:]))
    oldest = kept[2]
    assert oldest is not None
    last = backups.restore(oldest, NOW + timedelta(days=30))
    assert backups.kept_before() == (last, *reversed(kept[3:]), oldest)


def test_a_swap_that_the_power_was_cut_in_is_taken_back(tmp_path: Path) -> None:
    folder = fill(tmp_path / "data")
    was = contents(folder)
    moves = [path for path in sorted(folder.iterdir()) if path.name in KEPT]
    assert len(moves) == 3
    for many in range(len(moves) + 1):
        room = folder / ".restoring-cut"
        for part in ("new", "old"):
            (room / part).mkdir(parents=True)
        for path in moves[:many]:
            path.rename(room / "old" / path.name)
        if many == len(moves):
            (folder / "settings.json").write_text("{}")
        SqliteLog.writing(folder).close()
        assert contents(folder) == was
        assert not room.exists()


def test_a_swap_that_fails_half_way_is_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old, folder = fill(tmp_path / "old"), fill(tmp_path / "data", strings=2)
    FolderBackups(old).write(tmp_path / "b.zip")
    was = contents(folder)
    rename, moved = Path.rename, []

    def failing(self: Path, target: Path) -> Path:
        if self.name == "pieces" and self.parent.name == "new":
            raise OSError(28, "No space left on device")
        moved.append(self)
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(StoreError):
        FolderBackups(folder).restore(tmp_path / "b.zip", NOW)
    assert moved
    assert contents(folder) == was
