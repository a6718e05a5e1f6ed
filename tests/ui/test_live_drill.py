"""The whole app as a process of its own, heard and answered through virtual devices, and killed."""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from coach.bootstrap import make_services
from coach.hearing.engines import engine_named
from coach.hearing.listening import listen
from coach.practice.events import DrillAnswered
from coach.practice.settings import Settings
from tests.pulse import RATE_HZ, PrivatePulse, Recording
from tests.soundfont import recorded

pytestmark = [pytest.mark.window, pytest.mark.device, pytest.mark.recorded]

PATIENCE_S = 60.0
LEAD = RATE_HZ // 5
"""Samples of the silence before a sound that are heard with it."""
APP = """
import sys
from pathlib import Path
from coach.bootstrap import make_services, prepare_process
from coach.ui.app import run
folder = Path(sys.argv[1])
prepare_process(folder)
from kivy.app import App
from kivy.clock import Clock
Clock.schedule_once(lambda _: App.get_running_app().go("drill", drill="match-note"), 1.0)
run(make_services(folder))
"""


class Running:
    """The app in a child process, with the log it writes."""

    def __init__(self, folder: Path, pulse: PrivatePulse) -> None:
        self.services = make_services(folder)
        self.services.settings().save(Settings(can_sing=False))
        env = {name: value for name, value in pulse.env.items() if not name.startswith("KIVY")}
        if not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
            env["SDL_VIDEODRIVER"] = "offscreen"
        self.process = subprocess.Popen([sys.executable, "-c", APP, str(folder)], env=env)

    def answers(self) -> list[DrillAnswered]:
        log = self.services.read_log()
        try:
            return [each.event for each in log.events() if isinstance(each.event, DrillAnswered)]
        finally:
            log.close()


@pytest.fixture
def running(tmp_path: Path, pulse: PrivatePulse) -> Iterator[Running]:
    app = Running(tmp_path, pulse)
    yield app
    app.process.kill()
    app.process.wait()


def until(condition: Callable[[], bool]) -> None:
    give_up_s = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < give_up_s
        time.sleep(0.1)


def asked(speaker: Recording) -> int:
    """The note that the app lets sound, heard by our own ear from what the speaker plays."""
    engine = engine_named("auto")
    found: list[int] = []

    def heard() -> bool:
        sound = np.ascontiguousarray(speaker.heard().mean(axis=1, dtype=np.float32))
        loud = np.flatnonzero(np.abs(sound) > 0.01)
        if not len(loud) or len(sound) - loud[-1] < 0.4 * RATE_HZ:
            return False  # silent yet, or still sounding
        found[:] = [
            note.midi for note in listen(sound[max(0, loud[0] - LEAD) :], RATE_HZ, engine=engine).notes
        ]
        return bool(found)

    until(heard)
    return found[0]


def answer(pulse: PrivatePulse, midi: int) -> None:
    pulse.feed(recorded([(midi, 0.3, 1.5)], RATE_HZ))


@pytest.mark.parametrize(("off_by", "right"), [(0, True), (1, False)])
def test_a_recorded_guitar_note_is_graded_and_survives_a_kill(
    running: Running, pulse: PrivatePulse, *, off_by: int, right: bool
) -> None:
    speaker = pulse.record()
    try:
        midi = asked(speaker)
    finally:
        speaker.stop()
    time.sleep(0.5)  # the round trip after the prompt
    answer(pulse, midi + off_by)
    until(lambda: len(running.answers()) == 1)
    running.process.kill()  # SIGKILL: nothing can be saved any more
    running.process.wait()
    (graded,) = running.answers()
    assert (graded.right, graded.heard, graded.by) == (right, (midi + off_by,), "guitar")
