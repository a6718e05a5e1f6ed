# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""A piece from choosing to its end in the whole app: real taps, real log, real recording; no sound device."""

from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from coach.bootstrap import make_services
from coach.notation import LineKind
from coach.practice.events import LineSettled, NoteChecked
from coach.sessions.demo.finding import Finder
from coach.sessions.demo.learner import SimulatedLearner
from coach.sessions.keeping import usual_folder
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import bundled_pieces
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.play_desk import PlayDesk
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.services import Services
from tests.ui.driver import RealWindow

pytestmark = pytest.mark.window
PATIENCE_S = 60.0
FINISHED = [".flac", ".json", ".mid", ".musicxml", ".pdf"]
"""Endings of what a finished piece leaves: take, lines, MIDI, MusicXML, sheet."""


@dataclass
class Desk:
    """The app on a data folder of its own, and the learner who works with it."""

    window: RealWindow
    app: Any
    services: Services

    @property
    def room(self) -> PracticeRoom:
        room: PracticeRoom = self.app.room
        return room

    def until_button(self, words: str) -> None:
        waited = 0.0
        while words not in self.window.buttons():
            assert waited < PATIENCE_S, self.window.words()
            self.window.wait(0.1)
            waited += 0.1

    def tap(self, words: str) -> None:
        self.until_button(words)
        self.window.tap_words(words)

    def tap_neck(self, string: int, fret: int) -> None:
        neck = self.app.frame.page.neck
        self.app.frame.page.scroll.scroll_to(neck, animate=False)
        self.window.frames(4)
        x, y = neck.place(string, fret)
        self.window.tap(neck, (x - neck.x) / neck.width, (y - neck.y) / neck.height)

    def settle_together(self) -> None:
        """Nothing is changed unasked: where a change is needed, the player agrees to it first."""
        self.until_button("Next note")
        if "Use this change" in self.window.buttons():
            self.tap("Use this change")
        self.tap("Good enough for now")

    def events(self, kind: type) -> list[Any]:
        return [each.event for each in self.services.read_log().events() if isinstance(each.event, kind)]


@pytest.fixture
def desk(window: RealWindow, tmp_path: Path) -> Desk:
    from coach.ui.shell import CoachApp

    services = make_services(tmp_path)
    return Desk(window, window.start(CoachApp(services, first="choose")), services)


def learner_of(services: Services) -> SimulatedLearner:
    return SimulatedLearner(bundled_pieces(services)[0], Random(1))


def set_beat(desk: Desk) -> None:
    """Taps along with the music need a loudspeaker: here they are given as the learner would tap them."""
    piece = bundled_pieces(desk.services)[0]
    taps_s, one_s = learner_of(desk.services).taps(16)
    beat = BeatDesk(desk.room.journal)
    beat.tap(taps_s, one_s, piece.meter, pickup=piece.pickup, duration_s=23.0)
    beat.cut(8)


def find_by_ear(desk: Desk, section: str) -> None:
    finder = Finder(desk.room.journal, learner_of(desk.services), desk.services.engine("auto"))
    model = desk.services.evidence_model()
    for kind in LineKind:
        finder.find(section, kind, CheckDesk(desk.room.journal, desk.room.recording(), model, section))


def test_a_piece_is_walked_from_the_recording_to_the_sheet(desk: Desk) -> None:
    desk.tap("Take it")
    desk.until_button("Hear its beat")
    assert "a good first piece" in desk.window.words()
    set_beat(desk)
    desk.app.go("piece")
    desk.tap("Find the tune of section A")
    a_note_is_placed_asked_about_and_taken_back(desk)
    find_by_ear(desk, "A")
    assert [event.line for event in desk.events(LineSettled)] == ["melody", "bass"]
    desk.app.go("piece")
    desk.tap("Both on the neck")
    desk.until_button("Use this key")  # it comes first; here the piece is played as it was recorded
    desk.app.go("together", section="A")
    desk.tap("Next note")
    assert "Bar 1" in desk.window.words()
    desk.settle_together()
    desk.until_button("Count in")
    assert shows_paper(desk)
    desk.tap("Good enough for now")
    desk.until_button("Find the tune of section B")
    find_by_ear(desk, "B")
    desk.app.go("together", section="B")
    desk.settle_together()
    desk.until_button("Count in")
    desk.tap("Good enough for now")
    the_take_is_kept_and_the_piece_is_done(desk)


def a_note_is_placed_asked_about_and_taken_back(desk: Desk) -> None:
    desk.until_button("Listen")
    desk.tap_neck(1, 7)  # B4, the first note
    desk.tap("Place it")
    desk.tap("Check")
    (asked,) = desk.events(NoteChecked)
    assert asked.midi == 71
    assert asked.verdict in {"heard", "cannot_tell"}
    desk.tap("Undo")
    assert desk.room.journal.progress.piece.section("A").melody.notes == ()


def the_take_is_kept_and_the_piece_is_done(desk: Desk) -> None:
    desk.until_button("Record the take")
    hand = Hand.of(desk.services.current_settings())
    PlayDesk(desk.services, desk.room.journal, hand, None).keep(np.zeros(44100, np.float32), 44100)
    in_the_way = usual_folder(desk.services)
    in_the_way.write_text("no folder", encoding="utf-8")
    desk.app.go("finish")
    desk.tap("Call it done")
    desk.until_button("Start the next piece")  # it is done even though its files could not be written
    in_the_way.unlink()
    desk.app.go("today")
    desk.app.go("finish")
    pieces = in_the_way / "pieces"
    desk.window.until(lambda: sorted(path.suffix for path in pieces.glob("*/*")) == FINISHED, PATIENCE_S)
    page = desk.app.frame.page
    desk.window.until(lambda: bool(page.presenter.view.value.pages))
    page.scroll.scroll_y = 0.3
    desk.window.frames(4)
    assert shows_paper(desk)


def shows_paper(desk: Desk) -> bool:
    """The engraved sheet is white paper in the dark theme."""
    pixels = desk.window.pixels()
    return bool((pixels.min(axis=2) > 250).mean() > 0.1)


def test_a_third_note_goes_onto_the_next_time_list(desk: Desk) -> None:
    desk.tap("Take it")
    desk.until_button("Hear its beat")
    set_beat(desk)
    find_by_ear(desk, "A")
    desk.app.go("together", section="A")
    desk.until_button("Next note")
    desk.tap_neck(2, 11)
    assert "a third one is on the list for next time" in desk.window.words()
    assert len(desk.room.journal.progress.piece.ideas) == 1


def test_a_file_that_is_no_recording_is_refused_in_a_sentence(desk: Desk, tmp_path: Path) -> None:
    wrong = tmp_path / "letter.mp3"
    wrong.write_text("This is not music.", encoding="utf-8")
    desk.until_button("Take it")
    desk.app.frame.page.presenter.bring(str(wrong))
    desk.window.wait(1.0)
    desk.until_button("Take it")
    assert "This is not an audio file" in desk.window.words()
    assert desk.services.library().pieces() == ()
