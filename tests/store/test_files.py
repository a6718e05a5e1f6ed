import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import InputError, MissingPartError, StoreError
from coach.practice.events import StringTuned
from coach.store.cache import DiskCache
from coach.store.files import AtomicWriter
from coach.store.folders import DataFolder
from coach.store.log import SqliteLog
from coach.store.names import plain_name, slug
from tests.practice_steps import START

AS_NOBODY = """
import os, sys
from pathlib import Path
from coach.errors import CoachError
from coach.practice.events import StringTuned
from coach.store.log import SqliteLog
if os.geteuid() == 0:  # to this user every folder is open
    os.setgroups([]), os.setgid(65534), os.setuid(65534)
folder = Path(sys.argv[1])
print(SqliteLog.reading(folder).progress().seq)
try:
    SqliteLog.writing(folder)
except CoachError as error:
    print(error.message)
"""


def test_a_file_is_written_whole_and_its_folder_made(tmp_path: Path) -> None:
    path = tmp_path / "new" / "sheet.pdf"
    AtomicWriter().write(path, b"one")
    AtomicWriter().write(path, b"two")
    assert path.read_bytes() == b"two"
    assert list(path.parent.iterdir()) == [path]
    if os.name != "nt":
        usual = tmp_path / "usual"
        usual.touch()
        assert stat.S_IMODE(path.stat().st_mode) == stat.S_IMODE(usual.stat().st_mode)
        path.chmod(0o600)
        AtomicWriter().write(path, b"three")
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, "a file made private stays so"


def test_a_place_that_takes_no_file_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    for path in (tmp_path / "file" / "x", tmp_path):
        with pytest.raises(StoreError, match="choose another place"):
            AtomicWriter().write(path, b"")
    assert {path.name for path in tmp_path.iterdir()} == {"file"}


@pytest.mark.skipif(os.name == "nt", reason="rights work otherwise there")
def test_a_folder_without_the_right_to_write_is_read_and_named(tmp_path: Path) -> None:
    data = tmp_path / "data"
    for parent in (tmp_path, *tmp_path.parents[:2]):
        parent.chmod(0o755)
    log = SqliteLog.writing(data)
    log.append(StringTuned(1, 0.0), START)
    data.chmod(0o555)
    done = subprocess.run(
        [sys.executable, "-c", AS_NOBODY, str(data)], capture_output=True, text=True, check=True
    )
    data.chmod(0o755)
    seq, message = done.stdout.splitlines()
    assert seq == "1"
    assert "cannot be written" in message
    assert "--data" in message
    log.close()


@given(st.text())
def test_a_slug_is_a_plain_name(title: str) -> None:
    assert plain_name(slug(title)) == slug(title)


@given(st.lists(st.text(max_size=5), min_size=1, max_size=4).map("/".join))
def test_a_plain_name_stays_in_its_folder(name: str) -> None:
    try:
        plain_name(name)
    except InputError:
        return
    root = Path("/data/pieces")
    assert Path(os.path.normpath(root / name)).is_relative_to(root)
    assert Path(os.path.normpath(root / name)) != root


class TestCache:
    def test_what_was_put_is_there_and_what_was_not_is_none(self, tmp_path: Path) -> None:
        cache = DiskCache(tmp_path / "cache")
        assert cache.get("a-1_B") is None
        cache.put("a-1_B", b"x")
        cache.put("a-1_B", b"y")
        assert cache.get("a-1_B") == b"y"

    def test_what_was_used_longest_ago_makes_room(self, tmp_path: Path) -> None:
        cache = DiskCache(tmp_path, most_bytes=30)
        for index, key in enumerate("abc"):
            cache.put(key, bytes(10))
            os.utime(tmp_path / f"{key}.cache", (index, index))
        cache.get("a")
        cache.put("d", bytes(10))
        assert [key for key in "abcd" if cache.get(key) is not None] == ["a", "c", "d"]

    def test_more_than_it_may_hold_is_not_kept(self, tmp_path: Path) -> None:
        cache = DiskCache(tmp_path, most_bytes=30)
        cache.put("a", bytes(10))
        cache.put("b", bytes(31))
        assert cache.get("b") is None
        assert cache.get("a") is not None

    def test_a_disk_that_takes_nothing_is_no_error(self, tmp_path: Path) -> None:
        (tmp_path / "file").touch()
        cache = DiskCache(tmp_path / "file" / "cache")
        cache.put("a", b"x")
        assert cache.get("a") is None

    @pytest.mark.parametrize("key", ["", "../a", "a/b", "a.b", "ä"])
    def test_a_key_that_is_no_plain_word_is_misuse(self, tmp_path: Path, key: str) -> None:
        with pytest.raises(ValueError, match="plain key"):
            DiskCache(tmp_path).get(key)


class TestDataFolder:
    def test_names_and_bytes(self, tmp_path: Path) -> None:
        (tmp_path / "deep").mkdir()
        for name in ("b.toml", "deep/a.toml", "c.md"):
            (tmp_path / name).write_text(name)
        folder = DataFolder(tmp_path)
        assert folder.names() == ("b.toml", "c.md", "deep/a.toml")
        assert folder.names(".toml") == ("b.toml", "deep/a.toml")
        assert folder.read("deep/a.toml") == b"deep/a.toml"

    def test_what_is_missing_says_so(self, tmp_path: Path) -> None:
        assert DataFolder(tmp_path / "none").names() == ()
        with pytest.raises(MissingPartError, match="install the app again"):
            DataFolder(tmp_path).read("none.toml")
