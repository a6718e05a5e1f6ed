# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The first run on the real bundled recording: only microphone, loudspeaker and clock are scripted."""

from pathlib import Path

import numpy as np
import pytest

from coach.practice.events import HintTaken, LineWritten, NoteChecked, PieceChosen, SectionsSet
from coach.sessions.piece.bringing_in import bundled_pieces
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.device_watch import NO_SOUND
from coach.ui.presenters.first_notes import COUNT, FirstNotes
from coach.ui.presenters.first_run import NOT_HEARD, FirstRunPresenter, FirstRunView, Moment
from coach.ui.presenters.view import Ready
from tests.fakes import MemoryLog
from tests.practice_steps import begun as in_hand
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context, went_to


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> ScriptedRoom:
    """A room in which the tune was made ready once: recording and analysis lie in its folder."""
    room = ScriptedRoom(tmp_path_factory.mktemp("ready"))
    InlineRunner().start(FirstNotes(room).prepare, done=lambda _: None, failed=pytest.fail)
    return room


@pytest.fixture
def room(ready: ScriptedRoom) -> ScriptedRoom:
    """The same folder with a log of its own, nothing found yet."""
    return again(ready)


def again(ready: ScriptedRoom, *, microphone: bool = True) -> ScriptedRoom:
    return ScriptedRoom(
        ready.services.data_folder, microphone=microphone, log=MemoryLog(list(ready.log.logged))
    )


def begun(room: ScriptedRoom) -> FirstRunPresenter:
    presenter = FirstRunPresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: FirstRunPresenter) -> FirstRunView:
    assert isinstance(presenter.view, Ready), presenter.view
    return presenter.view.value


def first_three(room: ScriptedRoom) -> list[int]:
    """As composed: what a player with good ears finds."""
    return [note.midi for note in bundled_pieces(room.services)[0].melody.notes[:COUNT]]


def play(room: ScriptedRoom, presenter: FirstRunPresenter, midi: int) -> None:
    """Wait until nothing sounds, then pluck a note and let it be heard."""
    room.until(lambda: not room.world.listener.deaf, 60.0)
    before = len(room.events(NoteChecked))
    room.pluck(midi, seconds=0.9)
    room.until(lambda: len(room.events(NoteChecked)) > before)


def test_three_notes_are_found_by_ear_checked_against_the_recording_and_kept(room: ScriptedRoom) -> None:
    presenter = begun(room)
    room.pluck(55)
    room.until(lambda: view_of(presenter).said == "I hear you: that is a G.")
    presenter.act()
    assert view_of(presenter).moment is Moment.FIND
    assert room.world.output.sounding
    wanted = first_three(room)
    play(room, presenter, wanted[0] + 1)
    assert "not heard there" in view_of(presenter).said
    assert view_of(presenter).names == (None, None, None)
    for index, midi in enumerate(wanted):
        assert view_of(presenter).looking == index
        play(room, presenter, midi)
    view = view_of(presenter)
    assert view.moment is Moment.DONE
    assert view.sentence.startswith("You have found the first 3 notes of “")
    (chosen,) = room.events(PieceChosen)
    assert chosen.bundled == bundled_pieces(room.services)[0].id
    assert len(room.events(SectionsSet)) == 1
    kept = room.events(LineWritten)[-1]
    assert ([note.midi for note in kept.notes], kept.section, kept.line) == (wanted, "A", "melody")
    presenter.act()
    assert went_to(presenter) == [("today", {})]


def test_at_the_end_a_recording_of_the_players_own_takes_the_place_of_the_tune(room: ScriptedRoom) -> None:
    presenter = begun(room)
    presenter.act()
    for midi in first_three(room):
        play(room, presenter, midi)
    assert view_of(presenter).second == "Use a recording of mine"
    presenter.second()
    assert went_to(presenter) == [("choose", {})]
    assert room.journal.progress.piece is None
    (aside,) = room.journal.progress.laid_aside
    assert aside.notes_found == COUNT


def test_hints_come_step_by_step_and_are_noted(room: ScriptedRoom) -> None:
    presenter = begun(room)
    presenter.act()
    assert view_of(presenter).second == "All three"
    presenter.tap(1, 0)
    assert view_of(presenter).second == "A hint"
    said = []
    for _ in range(3):
        presenter.second()
        said.append(view_of(presenter).said)
    high_e = room.services.current_settings().tuning[-1]
    way = "higher" if first_three(room)[0] > high_e else "lower"
    assert said[0] == f"It is {way} in sound."
    assert said[2].startswith("It is ")
    assert [hint.step for hint in room.events(HintTaken)] == ["direction", "near", "reveal"]


def test_without_a_microphone_the_neck_is_tapped(ready: ScriptedRoom) -> None:
    room = again(ready, microphone=False)
    presenter = begun(room)
    assert "cannot hear you" in view_of(presenter).said
    presenter.act()
    assert view_of(presenter).neck is not None
    tuning = room.services.current_settings().tuning
    for midi in first_three(room):
        string = next(s for s in range(1, 7) if 0 <= midi - tuning[6 - s] <= 12)
        presenter.tap(string, midi - tuning[6 - string])
    assert view_of(presenter).moment is Moment.DONE


def test_without_any_sound_device_no_button_is_mute(
    ready: ScriptedRoom, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = again(ready, microphone=False)
    monkeypatch.setattr(room, "loudspeaker", lambda: None)
    presenter = begun(room)
    assert view_of(presenter).sentence == NOT_HEARD
    presenter.act()
    assert view_of(presenter).said == NO_SOUND
    assert view_of(presenter).sentence.endswith("tap it on the neck.")
    presenter.tap(1, 0)
    presenter.act()
    assert view_of(presenter).said == NO_SOUND


def test_what_was_found_is_there_again_after_a_restart(room: ScriptedRoom) -> None:
    notes = prepared(room)
    notes.ask(0, first_three(room)[0])
    assert prepared(room).found == (first_three(room)[0], None, None)


def prepared(room: ScriptedRoom) -> FirstNotes:
    notes = FirstNotes(room)
    InlineRunner().start(notes.prepare, done=lambda _: None, failed=pytest.fail)
    return notes


def test_a_piece_of_the_players_own_goes_on_where_it_stands(tmp_path: Path) -> None:
    """Today's “first three notes” may be of any piece: it must never lead around in a circle."""
    room = ScriptedRoom(tmp_path)
    room.journal.write(PieceChosen("p", "My own", None))
    assert went_to(begun(room)) == [("choose", {})]
    for event in in_hand("p")[1:]:
        room.journal.write(event)
    on = ("workbench", {"section": "A", "line": "melody"})
    assert went_to(begun(room)) == [on]


def test_the_welcome_comes_once(tmp_path: Path, room: ScriptedRoom) -> None:
    presenter = begun(ScriptedRoom(tmp_path))
    assert view_of(presenter).moment is Moment.WELCOME
    presenter.act()
    assert view_of(presenter).moment is Moment.HEAR_ME
    assert view_of(begun(room)).moment is Moment.HEAR_ME


def test_the_notes_are_slowed_and_lie_where_the_tune_has_them(room: ScriptedRoom) -> None:
    notes = prepared(room)
    tempo = bundled_pieces(room.services)[0].tempo_bpm
    for place, sound in zip(notes.places, notes._sounds, strict=False):
        plain_s = float(place.duration) * 60 / tempo + 0.11
        assert len(sound) / notes._rate_hz == pytest.approx(plain_s / 0.7, rel=0.12)
        assert float(np.abs(sound).max()) > 0.02


@pytest.mark.window
def test_the_first_run_by_taps(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.first_run.screen import FirstRunPage

    presenter = FirstRunPresenter(room, Now(), InlineRunner(), Went())
    window.show(FirstRunPage(a_context(), presenter))
    assert window.frame.footer.level is not None
    window.tap_words("Go on")
    assert "Hear the first note" in window.words()
    window.tap_words("Tap it on a drawn neck instead")
    presenter.tap(1, 0)
    window.frames(3)
    window.tap_words("A hint")
    assert "in sound" in window.words()
