import hashlib
import json
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest

from coach.errors import LockedError, StoreError, UnreadableFileError
from coach.practice.events import StringTuned
from coach.practice.settings import Settings
from coach.store.backup import FolderBackups
from coach.store.log import SqliteLog
from coach.store.pieces import FolderLibrary
from coach.store.settings import JsonSettings
from tests.practice_steps import START, finished

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
        lambda files: about(files, format=2),
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
