# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The whole app in the real window, and its refusal where there is none."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from coach.bootstrap import make_services
from coach.practice.settings import Settings
from coach.sessions.services import Services
from tests.fakes import FakeClock
from tests.ui.checks import faults
from tests.ui.driver import RealWindow


def some_services(folder: Path) -> Services:
    """The real ones, at six in the evening."""
    return replace(make_services(folder), clock=FakeClock())


@pytest.mark.window
def test_the_first_day_opens_on_the_welcome_and_all_places_can_be_reached(
    window: RealWindow, tmp_path: Path
) -> None:
    from coach.ui.shell import CoachApp

    app = window.start(CoachApp(some_services(tmp_path)))
    assert app.word == "first_run"
    assert "Let's find three notes" in window.buttons()
    for place in ("ear", "piece", "log", "setup", "today"):
        window.tap(app.frame.places[place])
        assert (app.word, app.frame.places[place].here) == (place, True)
        assert not faults(window)


@pytest.mark.window
def test_a_changed_setting_dresses_the_app_anew(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.shell import CoachApp
    from coach.ui.theme import EVENING, PAPER

    services = some_services(tmp_path)
    app = window.start(CoachApp(services))
    assert app.frame.look.theme is EVENING
    services.settings().save(Settings(dark=False, text_scale=1.5))
    app.go("restart")
    window.frames(3)
    assert (app.frame.look.theme, app.frame.look.text_scale) == (PAPER, 1.5)
    assert len(window.kivy.children) == 1


@pytest.mark.window
def test_a_far_larger_window_shows_everything_larger(window: RealWindow, tmp_path: Path) -> None:
    from kivy.metrics import dp

    from coach.ui.shell import RESIZE_PAUSE_S, CoachApp

    app = window.start(CoachApp(some_services(tmp_path)))
    rail = app.frame.rail.width
    window.kivy.size = (2560, 1600)
    window.wait(RESIZE_PAUSE_S + 0.2)
    assert dp(1) == 2.0
    assert app.frame.rail.width == 2 * rail


def test_without_a_display_it_says_so_and_names_the_demo(tmp_path: Path) -> None:
    code = (
        "import sys, types, pathlib; from coach.ui.app import run; "
        "sys.exit(run(types.SimpleNamespace(data_folder=pathlib.Path(sys.argv[1]))))"
    )
    env = {key: value for key, value in os.environ.items() if key not in {"DISPLAY", "WAYLAND_DISPLAY"}}
    env |= {"SDL_VIDEODRIVER": "wayland,x11", "KIVY_WINDOW": "sdl2", "KIVY_HOME": str(tmp_path / "kivy")}
    env |= {"KIVY_NO_CONSOLELOG": "1", "KIVY_NO_ARGS": "1", "KIVY_NO_FILELOG": "1"}
    ended = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        env=env,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ended.returncode == 1
    assert "coach demo" in ended.stderr
    assert not ended.stdout
    assert "Traceback" not in ended.stderr


def test_a_folder_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    from coach.ui.app import run

    (tmp_path / "file").write_text("in the way")
    assert run(SimpleNamespace(data_folder=tmp_path / "file")) == 1
