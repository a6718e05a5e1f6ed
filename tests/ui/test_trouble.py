# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""A full disk, or another error nobody on the screen reckons with: it is said, and the app stays open."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from coach.errors import StoreError
from coach.ui.presenters.view import Ready
from tests.practised import practised
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.keep_room import services_in
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import a_context

FULL = "The log could not be used (database or disk is full): free some space on the disk, then try again."


def full(*_: object) -> None:
    raise StoreError(FULL)


@pytest.fixture
def app(window: RealWindow, tmp_path: Path) -> Any:
    from coach.ui.shell import CoachApp

    return window.start(CoachApp(services_in(practised(tmp_path / "data")), first="piece"))


@pytest.mark.window
def test_every_place_is_reached_though_nothing_can_be_written(
    window: RealWindow, app: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from coach.sessions.stopwatch import Stopwatch

    monkeypatch.setattr(Stopwatch, "turn_to", full)
    for place in ("today", "log", "ear", "piece"):
        window.tap(app.frame.places[place])
        assert app.word == place


@pytest.mark.window
def test_what_could_not_be_kept_is_said_and_the_page_opens_again(
    window: RealWindow, app: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kivy.base import ExceptionManager

    with monkeypatch.context() as disk:
        disk.setattr(app.room.journal, "write", full)
        with pytest.raises(StoreError) as raised:
            app.frame.page.presenter.note_idea("A third voice")
    # As Kivy's loop hands on what an action ends in.
    assert ExceptionManager.handle_exception(raised.value) == ExceptionManager.PASS
    window.frames(6)
    assert FULL in window.words()
    assert window.buttons()[-1] == "Open this page again"
    assert not faults(window)
    app.frame.page.presenter._brought("Something else")
    window.frames(6)
    assert FULL in window.words(), "it stays until it is read"
    window.tap_words("Open this page again")
    assert "Note it" in window.buttons()
    assert ExceptionManager.handle_exception(KeyError("a fault")) == ExceptionManager.RAISE


@pytest.mark.window
def test_a_page_that_changes_in_place_does_not_name_its_action_on_the_notice(window: RealWindow) -> None:
    from coach.ui.widgets.page import OPEN_AGAIN, Page

    class Steady(Page):
        def draw(self, value: str) -> None:
            self.action = value

        def keeps(self, value: str) -> bool:
            self.action = value
            return True

    page = window.show(Steady(a_context()))
    again: list[int] = []
    page.trouble("That could not be done.", FULL, lambda: again.append(1))
    page.show(Ready("Count in"))
    assert page.action == OPEN_AGAIN
    page.press_action()
    assert again


@pytest.mark.window
def test_a_page_that_cannot_be_made_is_told_of_and_tried_again(
    window: RealWindow, app: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from coach.ui.screens.table import Screen

    with monkeypatch.context() as disk:
        disk.setattr(Screen, "build", full)
        with pytest.raises(StoreError) as raised:
            app.go("log")
    app.trouble(raised.value)
    window.frames(6)
    assert FULL in window.words()
    window.tap_words("Open this page again")
    assert (app.word, FULL in window.words()) == ("log", False)


def test_the_ear_stays_open_when_what_it_heard_cannot_be_kept(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    listener = room.world.listener
    told: list[str] = []
    listener.troubled = lambda error: told.append(error.message)
    heard: list[object] = []

    def keeps(_hearing: object) -> None:
        heard.append(1)
        full()

    listener.subscribe(keeps)
    steps = iter([True] * 3)
    listener._stop.is_set = lambda: next(steps, None) is None  # type: ignore[method-assign]
    room.world.microphone.say(np.zeros(9600, np.float32))
    listener._run()
    assert told
    assert set(told) == {FULL}
    assert len(heard) == len(told)
