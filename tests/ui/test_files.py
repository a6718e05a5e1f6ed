# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""A file is found by touch, and brought to the screen that asked for it."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from coach.sessions.ports import Place
from coach.store.shelf import DiskShelf
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.files import MOST_ROWS, FilesPresenter, FilesView
from coach.ui.presenters.view import Empty, Failed, Ready
from tests.ui.driver import RealWindow
from tests.ui.stage import Now, Went, a_context, gone


def looking(shelf: DiskShelf, want: str = "recording", **about: str) -> tuple[FilesPresenter, Went]:
    went = Went()
    folder = about.pop("folder", None)
    presenter = FilesPresenter(shelf, Now(), InlineRunner(), went, want, folder, about)
    presenter.opened()
    return presenter, went


def view_of(presenter: FilesPresenter) -> FilesView:
    assert isinstance(presenter.view, Ready), presenter.view
    return presenter.view.value


@pytest.fixture
def home(tmp_path: Path) -> Path:
    (tmp_path / "tapes").mkdir()
    (tmp_path / "tapes" / "Ferry bell.mp3").write_bytes(b"0" * 1_500_000)
    (tmp_path / "report.json").write_text("{}")
    return tmp_path


@pytest.mark.window
def test_a_recording_is_found_by_touch(window: RealWindow, home: Path) -> None:
    from coach.ui.screens.files.screen import build

    shelf = DiskShelf((Place("Music", home),))
    context = a_context(services=SimpleNamespace(shelf=lambda: shelf), want="recording")
    page = window.show(build(context))
    assert "No recording is in this folder." in window.words()
    window.tap(next(row for row in window.walk() if getattr(row, "said", "") == "tapes"))
    assert "1.5 MB" in window.words()
    window.tap(next(row for row in window.walk() if getattr(row, "said", "") == "Ferry bell.mp3"))
    assert gone(context) == [("choose", {"file": str(home / "tapes" / "Ferry bell.mp3")})]
    page.closed()


@pytest.mark.window
def test_a_dropped_file_is_taken_while_the_screen_is_on(window: RealWindow, home: Path) -> None:
    from coach.ui.screens.files.screen import build

    shelf = DiskShelf((Place("Music", home),))
    context = a_context(services=SimpleNamespace(shelf=lambda: shelf), want="recording")
    page = window.show(build(context))
    window.kivy.dispatch("on_drop_file", "/music/Fähre.mp3".encode(), 10, 10)
    assert [about for _, about in gone(context)] == [{"file": "/music/Fähre.mp3"}]
    page.closed()
    window.kivy.dispatch("on_drop_file", b"/music/b.mp3", 10, 10)
    assert len(gone(context)) == 1


def test_the_way_up_and_back_are_there(home: Path) -> None:
    presenter, went = looking(DiskShelf((Place("Music", home),)), folder=str(home / "tapes"))
    assert view_of(presenter).where == "tapes"
    presenter.rise()
    assert view_of(presenter).place == str(home)
    presenter.back()
    assert went.to == [("choose", {})]


def test_a_folder_is_taken_where_a_folder_is_wanted(home: Path) -> None:
    presenter, went = looking(DiskShelf((Place("Documents", home),)), "reports")
    assert [row.name for row in view_of(presenter).rows] == ["tapes", "report.json"]
    presenter.open(str(home / "report.json"))
    assert went.to == []
    presenter.act()
    assert went.to == [("teacher", {"folder": str(home)})]


def test_the_pack_that_waits_is_not_forgotten(home: Path) -> None:
    presenter, went = looking(DiskShelf((Place("Music", home),)), "copy", pack="/p.zip")
    presenter.bring(str(home / "tapes" / "Ferry bell.mp3"))
    (where,) = went.to
    assert where == (
        "setup",
        {"card": "lessons", "pack": "/p.zip", "recording": str(home / "tapes" / "Ferry bell.mp3")},
    )


def test_a_full_folder_is_shown_in_parts(home: Path) -> None:
    for number in range(MOST_ROWS + 5):
        (home / f"{number:03d}.wav").touch()
    presenter, _ = looking(DiskShelf((Place("Music", home),)))
    assert (len(view_of(presenter).rows), view_of(presenter).more) == (MOST_ROWS, 6)
    presenter.show_more()
    assert (len(view_of(presenter).rows), view_of(presenter).more) == (MOST_ROWS + 6, 0)


def test_a_folder_that_is_gone_leads_back_to_the_places(home: Path) -> None:
    presenter, _ = looking(DiskShelf((Place("Music", home),)), folder=str(home / "gone"))
    assert isinstance(presenter.view, Failed)
    presenter.act()
    assert view_of(presenter).where == "Music"


def test_without_any_folder_a_file_can_still_be_dropped(tmp_path: Path) -> None:
    presenter, went = looking(DiskShelf(()))
    assert isinstance(presenter.view, Empty)
    presenter.bring(str(tmp_path / "a.wav"))
    assert went.to == [("choose", {"file": str(tmp_path / "a.wav")})]
