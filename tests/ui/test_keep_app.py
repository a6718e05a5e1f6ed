# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Keeping it safe in the open app: real taps and keys, a back-up put in place, and the way back."""

from contextlib import closing
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from coach.practice.events import PieceChosen, StringTuned
from coach.practice.settings import Settings
from coach.sessions.keeping import back_up
from coach.sessions.ports import Jobs
from coach.store.log import SqliteLog
from coach.ui.presenters.keep import STOPPED
from tests.practice_steps import START
from tests.practised import practised
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.keep_room import LARK, services_in, titles

SPACE, TAB = 32, 9


def put_in_place(window: RealWindow, app: Any) -> None:
    """Say yes to what is asked, and wait for it."""
    window.tap_words("Put it in place")
    window.until(lambda: "Go back to what was here before" in window.buttons())
    window.frames(6)
    assert not app.room.resting


@pytest.fixture
def app(window: RealWindow, tmp_path: Path) -> Any:
    """An app with the piece “Wren”, dark; beside it a back-up of another one: “Lark”, light, a teacher."""
    from coach.ui.shell import CoachApp

    old = services_in(practised(tmp_path / "data"))
    old.settings().save(Settings(dark=False, teacher=True))
    back_up(old, tmp_path / "documents" / "Two-Line Coach" / "of old.zip")
    services = services_in(tmp_path / "new")
    with closing(SqliteLog.writing(tmp_path / "new")) as log:
        log.append(PieceChosen("001-wren", "Wren", None), START)
    services.settings().save(Settings(dark=True))
    return window.start(CoachApp(services, first="piece"))


@pytest.mark.window
def test_the_open_app_shows_what_was_put_in_place_everywhere(window: RealWindow, app: Any) -> None:
    from coach.ui.theme import PAPER

    journal = app.room.journal
    window.tap(app.frame.places["log"])
    window.tap_words("Keep it safe")
    window.tap_words("Back up now")
    window.until(lambda: "Everything is in one file" in window.words())
    window.tap_words("Look for a back-up")
    window.until(lambda: any(getattr(row, "said", "") == "of old.zip" for row in window.walk()))
    assert [word for word, place in app.frame.places.items() if place.here] == ["log"]
    window.tap(next(row for row in window.walk() if getattr(row, "said", "") == "of old.zip"))
    window.until(lambda: LARK in window.words())
    assert "Here now: 1 piece (“Wren”)" in window.words()
    put_in_place(window, app)
    assert app.frame.look.theme is PAPER
    assert "teacher" in app.frame.places
    assert not faults(window)
    assert app.room.journal is not journal
    assert titles(app.room.journal.progress) == ["Lark"]
    for place in ("today", "log", "piece"):
        window.tap(app.frame.places[place])
        window.frames(6)
        assert "Wren" not in window.words()


@pytest.mark.window
def test_one_tap_leads_back_and_older_states_can_be_found_again(
    window: RealWindow, app: Any, tmp_path: Path
) -> None:
    app.go("keep", file=str(tmp_path / "documents" / "Two-Line Coach" / "of old.zip"))
    window.until(lambda: LARK in window.words())
    put_in_place(window, app)
    app.room.journal.write(StringTuned(1, 0.0))
    window.tap_words("Go back to what was here before")
    window.until(lambda: not app.room.resting and titles(app.room.journal.progress) == ["Wren"])
    window.tap(app.frame.places["log"])
    window.tap_words("Keep it safe")
    before = [each.said for each in window.walk() if "What was here before" in getattr(each, "said", "")]
    assert len(before) == 2
    window.tap_words(before[0])
    window.until(lambda: LARK in window.words())
    put_in_place(window, app)
    assert app.room.journal.progress.strings == {1: 0.0}


@pytest.mark.window
def test_who_puts_it_in_place_by_keys_keeps_the_ring_on_the_big_action(
    window: RealWindow, app: Any, tmp_path: Path
) -> None:
    app.go("keep", file=str(tmp_path / "documents" / "Two-Line Coach" / "of old.zip"))
    window.until(lambda: LARK in window.words())
    while not window.button("Put it in place").focused:
        window.key(TAB)
    window.key(SPACE)
    window.until(lambda: "Go back to what was here before" in window.buttons())
    window.frames(6)
    assert window.button("Back up now").focused
    assert not window.button("Go back to what was here before").focused


@pytest.mark.window
def test_no_other_screen_is_opened_while_one_is_put_in_place(
    window: RealWindow, app: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    goes_on = Event()

    def slow(path: Path, jobs: Jobs) -> None:
        while not goes_on.wait(0.01):
            jobs.progress(0.5, "Checking the back-up")

    monkeypatch.setattr(app.room, "restore", slow)
    app.go("keep", file=str(tmp_path / "documents" / "Two-Line Coach" / "of old.zip"))
    window.until(lambda: LARK in window.words())
    window.tap_words("Put it in place")
    window.until(lambda: "50% done" in window.words())
    window.tap(app.frame.places["today"])
    assert (app.word, app.room.resting) == ("keep", True)
    window.tap_words("Stop")
    window.until(lambda: STOPPED in window.words())
    window.tap(app.frame.places["today"])
    assert (app.word, app.room.resting) == ("today", False)
    assert titles(app.room.journal.progress) == ["Wren"]


@pytest.mark.window
def test_the_page_is_reached_and_used_by_keys(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.shell import CoachApp

    app = window.start(CoachApp(services_in(practised(tmp_path / "data")), first="log"))
    while not window.button("Keep it safe").focused:
        window.key(TAB)
    window.key(SPACE)
    assert app.word == "keep"
    window.key(SPACE)
    window.until(lambda: "Everything is in one file" in window.words())


@pytest.mark.window
@pytest.mark.parametrize("damaged", [False, True])
def test_it_is_reached_from_an_empty_and_from_a_damaged_log(
    window: RealWindow, tmp_path: Path, *, damaged: bool
) -> None:
    from coach.ui.shell import CoachApp

    (tmp_path / "data").mkdir()
    if damaged:
        (tmp_path / "data" / "log.sqlite3").write_bytes(b"junk" * 1000)
    app = window.start(CoachApp(services_in(tmp_path / "data"), first="log"))
    window.tap_words("Keep it safe")
    assert app.word == "keep"
    assert "Look for a back-up" in window.buttons()
    assert not faults(window)


@pytest.mark.window
def test_a_dropped_file_is_looked_into(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.shell import CoachApp

    services = services_in(practised(tmp_path / "data"))
    back_up(services, tmp_path / "b.zip")
    window.start(CoachApp(services, first="keep"))
    window.kivy.dispatch("on_drop_file", str(tmp_path / "b.zip").encode(), 10, 10)
    window.until(lambda: LARK in window.words())


@pytest.mark.window
def test_a_folder_that_was_handed_in_does_not_come_back_over_a_later_choice(
    window: RealWindow, tmp_path: Path
) -> None:
    from coach.ui.shell import CoachApp

    services = services_in(practised(tmp_path / "data"))
    app = window.start(CoachApp(services, first="log"))
    (tmp_path / "stick").mkdir()
    app.go("keep", folder=str(tmp_path / "stick"))
    window.frames(4)
    assert services.current_settings().backup_folder == str(tmp_path / "stick")
    window.tap_words("The usual folder")
    assert services.current_settings().backup_folder is None
    app.go("restart")  # as after a window was drawn larger
    assert services.current_settings().backup_folder is None
