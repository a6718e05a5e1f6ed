# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Makes the README's pictures from the running app: ``python -m tests.pictures [FOLDER]``.

A simulated learner practises for some weeks and works on the bundled piece by the app's own paths; then the
app is opened on that data folder and its screens are drawn. Nothing is painted afterwards.
"""

import sys
import tempfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any

import tests.ui.conftest  # noqa: F401 - sets the environment before Kivy is imported
from coach.bootstrap import make_services
from coach.music.key import Key
from coach.notation import LineKind
from coach.pieces.fit import fit
from coach.practice.events import DrillAnswered, Event, PlayedSettled, StringTuned, TimeSpent
from coach.practice.settings import Settings
from coach.sessions.demo.finding import Finder
from coach.sessions.demo.learner import SimulatedLearner
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import bundled_pieces
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.material import line_of
from coach.sessions.piece.neck_desk import Hand, NeckDesk
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.services import Services
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.first_notes import FirstNotes
from tests.sound_fakes import FakeClock
from tests.ui.driver import RealWindow, open_window
from tests.ui.five_states import CASES
from tests.ui.stage import a_context

SIZE = (1280, 800)
WEEKS = 5
PATIENCE_S = 60.0
DRILLS = ("match-note", "echo-note", "interval-echo", "bass-moves", "same-higher-lower", "home-note")


def practise(services: Services, clock: FakeClock) -> None:
    """Some weeks of tuning and ear training, most days."""
    rng, log = Random(7), services.log()
    start = clock.started
    try:
        for back in range(7 * WEEKS, 0, -1):
            if rng.random() < 0.3:
                continue
            at = start - timedelta(days=back)
            for event in a_day(rng):
                log.append(event, at)
    finally:
        log.close()


def a_day(rng: Random) -> list[Event]:
    events: list[Event] = [StringTuned(string, round(rng.gauss(0, 2), 1)) for string in range(6, 0, -1)]
    events.append(TimeSpent("tune", rng.uniform(80, 160)))
    for drill in rng.sample(DRILLS, 4):
        right = rng.random() < 0.5 + 0.08 * DRILLS.index(drill)
        skill = f"{drill}:note:any:mid:voice"
        word = rng.choice(("sure", "instant", "shaky")) if right else "missed"
        credit = {"sure": 1.0, "instant": 1.0, "shaky": 1.0, "missed": 0.3}[word]
        events.append(
            DrillAnswered(drill, skill, 2, "voice", 1, right, credit, rng.gauss(0, 12), 1.5, word, (57,))
        )
    events.append(TimeSpent("ear", rng.uniform(180, 320)))
    events.append(TimeSpent("piece", rng.uniform(300, 900)))
    return events


def work(services: Services) -> None:
    """Section A to its end, and the tune of section B."""
    room = PracticeRoom(services)
    try:
        InlineRunner().start(FirstNotes(room).prepare, done=lambda _: None, failed=_fail)
        bundled = bundled_pieces(services)[0]
        learner = SimulatedLearner(bundled, Random(1))
        finder = Finder(room.journal, learner, services.engine("auto"))
        model, recording = services.evidence_model(), room.recording()
        for kind in LineKind:
            finder.find("A", kind, CheckDesk(room.journal, recording, model, "A"))
            if kind is LineKind.MELODY:
                choose_key(room, learner, bundled.key)
        desk = NeckDesk(room.journal, Hand.of(services.current_settings()), "A")
        best = desk.ways().best
        assert best is not None, "the bundled piece can be played"
        desk.settle(best)
        piece = room.journal.progress.in_hand
        assert piece is not None
        room.journal.write(PlayedSettled(piece, "A"))
        finder.find("B", LineKind.MELODY, CheckDesk(room.journal, recording, model, "B"))
    finally:
        room.close()


def choose_key(room: PracticeRoom, learner: SimulatedLearner, key: Key) -> None:
    """The first way that is proposed to lay the tune of section A on the guitar."""
    best = fit(line_of(room.journal.piece_in_hand, "A", LineKind.MELODY), None, key)[0]
    shift, tune, bass = best.shift_semitones, best.melody_octaves, best.bass_octaves
    BeatDesk(room.journal).choose_key(
        best.key, capo=best.capo, shift_semitones=shift, melody_octaves=tune, bass_octaves=bass
    )
    learner.follow_key(shift + 12 * tune, shift + 12 * bass)


def _fail(error: Exception) -> None:
    raise error


def shoot(window: RealWindow, app: Any, folder: Path) -> None:
    """Walk through the places and draw them."""
    walk = [
        ("today", {}, "Begin"),
        ("piece", {}, None),
        ("workbench", {"section": "B", "line": "bass"}, "Listen"),
        ("together", {"section": "A"}, "Next note"),
        ("play", {"section": "A"}, None),
        ("log", {}, None),
    ]
    for word, about, button in walk:
        app.go(word, **about)
        wait_for(window, button)
        window.picture(folder / f"{word}.png")


def wait_for(window: RealWindow, button: str | None) -> None:
    """Until a button is there, or, without one, until nothing is being worked on."""
    waited_s = 0.0
    while waited_s < PATIENCE_S:
        window.wait(0.3)
        waited_s += 0.3
        there = window.buttons()
        if button in there or (button is None and "Stop" not in there):
            window.wait(0.3)
            return
    raise AssertionError(f"“{button}” did not come; there are {window.buttons()}")


def main() -> None:
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "assets/pictures")
    window = open_window()
    with tempfile.TemporaryDirectory() as data:
        clock = FakeClock()
        services = replace(make_services(Path(data)), clock=clock)
        services.settings().save(Settings(dark=True))
        practise(services, clock)
        work(services)
        from coach.ui.shell import CoachApp

        window.begin()
        shoot(window, window.start(CoachApp(services)), folder)
        window.end()
    for word in ("drill", "tuner"):
        window.begin()
        window.show(CASES[word].make(a_context(), "ready"), {"drill": "ear", "tuner": "setup"}[word])
        window.picture(folder / f"{word}.png")
        window.end()


if __name__ == "__main__":
    main()
