"""Looking into the player's folders."""

import sys
from pathlib import Path

import pytest

from coach.errors import StoreError
from coach.sessions.ports import Place
from coach.store.shelf import DiskShelf

SOUND = frozenset({".mp3", ".wav"})


def a_folder(root: Path) -> Path:
    for name in ("b.mp3", "A.WAV", "letter.txt", ".hidden.mp3"):
        (root / name).write_bytes(b"123")
    for name in ("tapes", "Albums", ".cache"):
        (root / name).mkdir()
    return root


def test_folders_come_first_and_only_what_was_asked_for(tmp_path: Path) -> None:
    found = DiskShelf(()).look(a_folder(tmp_path), SOUND)
    assert [on.path.name for on in found] == ["Albums", "tapes", "A.WAV", "b.mp3"]
    assert [on.is_folder for on in found] == [True, True, False, False]
    assert found[-1].size_bytes == 3


def test_only_places_that_are_there_and_each_once(tmp_path: Path) -> None:
    (tmp_path / "drives" / "Stick").mkdir(parents=True)
    here, gone = Place("Music", tmp_path), Place("Documents", tmp_path / "no")
    shelf = DiskShelf((here, gone, Place("Home", tmp_path)), (tmp_path / "drives", tmp_path / "none"))
    assert [place.name for place in shelf.places()] == ["Music", "Stick"]


def test_a_folder_that_is_gone_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    for folder in (tmp_path / "no", tmp_path / "file"):
        with pytest.raises(StoreError, match="choose another one"):
            DiskShelf(()).look(folder, SOUND)


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_a_link_that_leads_nowhere_is_left_out(tmp_path: Path) -> None:
    (tmp_path / "song.mp3").symlink_to(tmp_path / "no")
    (tmp_path / "round.mp3").symlink_to(tmp_path)
    assert [on.path.name for on in DiskShelf(()).look(tmp_path, SOUND)] == ["round.mp3"]
