# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""An ear set done by sound alone: nobody touches the screen after “Begin”."""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from numpy.typing import NDArray
from typing_extensions import override

from coach.bootstrap import SystemClock, make_services
from coach.drills.kinds import AnswerForm, By
from coach.drills.prompt import Prompt
from coach.practice.events import DrillAnswered
from coach.practice.settings import Settings
from coach.sessions.services import Services
from coach.tones.learner import Manner, clapped, plucked, sung
from coach.tones.prompt import PromptNote
from coach.ui.presenters.drill import Phase
from coach.ui.presenters.view import Ready
from tests.pulse import RATE_HZ, PrivatePulse
from tests.ui.driver import RealWindow

PATIENCE_S = 60.0
STEADY = Manner(timing_s=0.01, cents=6.0, slide_cents=30.0)


def right_answer(prompt: Prompt, rng: Random) -> NDArray[np.float32]:
    """What a player who knows the answer sings, plucks or claps."""
    if prompt.kind.form is AnswerForm.ONSETS:
        return clapped(prompt.onsets_s, RATE_HZ, rng, manner=STEADY)
    midis = prompt.midis or prompt.sounding
    notes = [PromptNote(midi, 0.2 + 0.75 * i, 0.85 + 0.75 * i) for i, midi in enumerate(midis)]
    render = sung if prompt.by is By.VOICE else plucked
    return render(notes, RATE_HZ, rng, manner=STEADY)


def until(window: RealWindow, condition: Callable[[], bool]) -> None:
    give_up_s = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < give_up_s, window.words()
        window.wait(0.02)


class LaterClock(SystemClock):
    """The computer's clock, some days on."""

    def __init__(self, days: int) -> None:
        self._days = timedelta(days=days)

    @override
    def now(self) -> datetime:
        return super().now() + self._days


@dataclass(frozen=True)
class DoneSet:
    """A set that was done: its answers, what was promised, how long it took."""

    answers: list[DrillAnswered]
    promised: str
    seconds: float
    words: str


@dataclass(frozen=True)
class BegunSet:
    """The app after “Begin”."""

    app: Any
    services: Services
    promised: str

    def answers(self) -> list[DrillAnswered]:
        """All that the log holds."""
        log = self.services.read_log()
        try:
            return [each.event for each in log.events() if isinstance(each.event, DrillAnswered)]
        finally:
            log.close()


def begin_set(
    window: RealWindow, folder: Path, *, settings: Settings | None = None, day: int = 0
) -> BegunSet:
    """Start the app on a day's set and tap “Begin”."""
    from coach.ui.shell import CoachApp

    services = replace(make_services(folder), clock=LaterClock(day))
    services.settings().save(settings or Settings())
    app = window.start(CoachApp(services, first="ear"))
    promised = app.frame.page.presenter.view.value.sentence
    window.tap_words("Begin")
    return BegunSet(app, services, promised)


def play_set(
    window: RealWindow,
    devices: PrivatePulse,
    folder: Path,
    count: int,
    *,
    settings: Settings | None = None,
    day: int = 0,
) -> DoneSet:
    """Begin a day's set and answer its drills, ``count`` at most; its answers are read from the log."""
    begun = begin_set(window, folder, settings=settings, day=day)
    app = begun.app
    before = len(begun.answers())
    began_s = time.monotonic()
    rng = Random(11 + day)
    for number in range(1, count + 1):
        until(window, lambda number=number: _done(app) or phase_of(app, number) is Phase.LISTENING)
        if _done(app):
            break
        devices.feed(right_answer(app.frame.page.presenter.prompt, rng)).wait()
        until(window, lambda number=number: is_over(app, number))
    if number < count or _done(app):
        until(window, lambda: _done(app))
        window.wait(0.1)
    seconds = time.monotonic() - began_s
    words = " ".join(window.words().split())
    window.end()
    return DoneSet(begun.answers()[before:], begun.promised, seconds, words)


def _done(app: Any) -> bool:
    """Whether the set is over."""
    return not isinstance(app.frame.page.presenter.view, Ready)


def _view(app: Any) -> Any:
    view = app.frame.page.presenter.view
    return view.value if isinstance(view, Ready) else None


def phase_of(app: Any, number: int) -> Phase | None:
    view = _view(app)
    return view.phase if view is not None and getattr(view, "number", 0) == number else None


def is_over(app: Any, number: int) -> bool:
    view = _view(app)
    return view is None or getattr(view, "number", 0) > number or view.phase.over
