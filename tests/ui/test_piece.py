# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The page of a piece: the recording that comes later, and a piece laid aside and taken up again."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.practice.events import Event, KeyChosen, LineReopened, PieceChosen
from coach.practice.next_step import next_steps
from coach.practice.stages import Stage
from coach.sessions.late_recording import hash_of
from coach.sessions.practice_room import PracticeRoom
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.choose import ChoosePresenter
from coach.ui.presenters.finish import FinishPresenter
from coach.ui.presenters.fit import sung_line
from coach.ui.presenters.piece import PiecePresenter
from coach.ui.presenters.piece_standing import TOO_HARD, PieceView
from coach.ui.presenters.view import Empty, Ready
from coach.ui.theme import PAPER, Look
from tests.practice_steps import begun, finished, section_done
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context


def a_room(folder: Path, sound: Path) -> PracticeRoom:
    """A room with a piece in hand that knows its recording only by its hash."""
    soundfile.write(sound, np.zeros(4000, np.float32), 8000)
    room = PracticeRoom(make_services(folder))
    piece = room.services.library().add("Lark", None).piece
    for event in (
        PieceChosen(piece, "Lark", hash_of(sound)),
        *begun(piece)[1:],
        *section_done("A", piece=piece),
    ):
        room.journal.write(event)
    return room


def opened(room: PracticeRoom) -> PiecePresenter:
    presenter = PiecePresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def shown(presenter: PiecePresenter) -> PieceView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def test_the_recording_is_brought_later_and_only_the_very_same(tmp_path: Path) -> None:
    sound, other = tmp_path / "lark.wav", tmp_path / "other.wav"
    soundfile.write(other, np.ones(4000, np.float32) / 2, 8000)
    room = a_room(tmp_path / "data", sound)
    presenter = opened(room)
    assert shown(presenter).lacks_recording
    presenter.bring_recording(str(other))
    assert shown(presenter).lacks_recording
    assert "another recording than the one of this piece" in shown(presenter).said
    presenter.bring_recording(str(tmp_path / "none.wav"))
    assert "cannot be read" in shown(presenter).said
    presenter.bring_recording(f'"{sound}"')
    assert (shown(presenter).lacks_recording, shown(presenter).said) == (False, "The recording is here now.")
    assert room.recording_path().read_bytes() == sound.read_bytes()
    room.close()


def test_a_piece_laid_aside_is_taken_up_with_everything(tmp_path: Path) -> None:
    room = a_room(tmp_path / "data", tmp_path / "lark.wav")
    before = room.journal.progress.piece
    presenter = opened(room)
    presenter.set_aside(" ")
    assert room.journal.progress.piece == before
    presenter.set_aside("Too fast for now")
    assert room.journal.progress.piece is None
    assert isinstance(presenter.view, Empty)
    assert "What you laid aside is kept" in presenter.view.sentence
    assert before is not None
    ChoosePresenter(room, Now(), InlineRunner(), Went()).take_up(before.piece)
    after = room.journal.progress.piece
    assert after is not None
    assert after.sections == before.sections
    room.close()


def test_the_recording_is_looked_for_and_brought_back(tmp_path: Path) -> None:
    sound = tmp_path / "lark.wav"
    room, went = a_room(tmp_path / "data", sound), Went()
    presenter = PiecePresenter(room, Now(), InlineRunner(), went)
    presenter.opened()
    presenter.look_for_recording()
    assert went.to == [("files", {"want": "missing"})]
    again = PiecePresenter(room, Now(), InlineRunner(), went, str(sound))
    again.opened()
    assert not shown(again).lacks_recording
    room.close()


def test_without_any_piece_one_is_to_be_chosen(tmp_path: Path) -> None:
    room = PracticeRoom(make_services(tmp_path))
    assert isinstance(opened(room).view, Empty)
    room.close()


def page(window: RealWindow, room: PracticeRoom, size: tuple[int, int], scale: float) -> Any:
    from coach.ui.screens.piece.screen import PiecePage

    window.resize(*size)
    look = Look(PAPER, text_scale=scale)
    return window.show(PiecePage(a_context(look), opened(room)), "piece")


@pytest.mark.window
def test_both_are_there_to_be_tapped(window: RealWindow, tmp_path: Path) -> None:
    sound = tmp_path / "lark.wav"
    room = a_room(tmp_path / "data", sound)
    page(window, room, (800, 480), 1.5)
    assert not faults(window)
    assert {"Look for it", "Bring it in"} <= set(window.buttons())
    presenter = opened(room)
    presenter.set_aside("Too fast for now")
    page(window, room, (800, 480), 1.5)
    assert not faults(window)
    assert "What you laid aside is kept" in window.words()
    room.close()


def memory_room(folder: Path, *events: Event) -> ScriptedRoom:
    """A room whose log holds the events."""
    room = ScriptedRoom(folder)
    for event in events:
        room.journal.write(event)
    return room


def test_what_is_good_enough_can_be_gone_back_to_and_changed(tmp_path: Path) -> None:
    """“It may be changed again twice” (the product's own rule) needs a way to get there."""
    room, went = memory_room(tmp_path, *begun(), *section_done("A")), Went()
    presenter = PiecePresenter(room, Now(), InlineRunner(), went, section="A")
    presenter.opened()
    view = shown(presenter)
    words = ["The tune ✓", "The bass ✓", "Both on the neck ✓", "Play it ✓"]
    assert (view.section, [each.words for each in view.stages]) == ("A", words)
    presenter.open_stage(Stage.MELODY)
    presenter.open_stage(Stage.TOGETHER)
    on = [("workbench", {"section": "A", "line": "melody"}), ("together", {"section": "A", "line": "melody"})]
    assert went.to == on
    room.journal.write(LineReopened("p", "A", "melody"))
    presenter.opened()
    assert [each.words for each in shown(presenter).stages] == []
    presenter.open_section("B")
    assert went.to[-1] == ("workbench", {"section": "B", "line": "melody"})


def test_once_the_tune_is_found_the_key_comes_next_and_can_be_another(tmp_path: Path) -> None:
    """Page and plan name the same next step."""
    tune = section_done("A")[:3]
    room, went = memory_room(tmp_path, *begun(), *tune), Went()
    presenter = PiecePresenter(room, Now(), InlineRunner(), went)
    presenter.opened()
    assert shown(presenter).action == "Choose a key for your guitar"
    assert "key" in next_steps(room.journal.progress, 20.0)[0].title
    presenter.act()
    assert went.to == [("fit", {"section": "A"})]
    presenter.open_stage(Stage.BASS)
    assert went.to[-1] == ("fit", {"section": "A"}), "the stage's own button leads past no key either"
    room.journal.write(KeyChosen("p", "G", 0, 2, 0.0))
    presenter.opened()
    assert shown(presenter).action == "Find the bass of section A"
    assert shown(presenter).other_key
    presenter.other_key()
    assert went.to[-1] == ("fit", {"section": "A"})
    piece = room.journal.progress.piece
    assert piece is not None
    assert [note.midi for note in piece.sections[0].melody.notes] == [62, 64, 66]
    assert [note.midi for note in sung_line(piece.sections[0])] == [60, 62, 64], "as in the recording"


def test_what_is_done_can_be_looked_at_whatever_is_in_hand(tmp_path: Path) -> None:
    room, went = memory_room(tmp_path, *finished()), Went()
    presenter = PiecePresenter(room, Now(), InlineRunner(), went)
    presenter.opened()
    assert not shown(presenter).in_hand
    assert [piece.title for piece in shown(presenter).finished] == ["P"]
    presenter.act()
    presenter.look_at("p")
    assert went.to == [("choose", {}), ("finish", {"piece": "p"})]
    for event in begun("q"):
        room.journal.write(event)
    end = FinishPresenter(room, Now(), InlineRunner(), went, "p")
    end._read()
    assert isinstance(end.view, Ready)
    assert (end.view.value.title, end.view.value.action) == ("P", "Back to the piece")
    end.act()
    assert went.to[-1] == ("piece", {})


def test_a_take_that_was_kept_may_be_bettered_before_the_end(tmp_path: Path) -> None:
    room, went = memory_room(tmp_path, *finished()[:-1]), Went()
    end = FinishPresenter(room, Now(), InlineRunner(), went)
    end.opened()
    assert isinstance(end.view, Ready)
    assert (end.view.value.action, end.view.value.second) == ("Call it done", "Record another take")
    end.second()
    assert went.to == [("play", {})]
    assert shown(opened(room)).action == "Call it done"


@pytest.mark.window
def test_a_piece_is_laid_aside_without_a_keyboard(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.piece.screen import PiecePage

    room = memory_room(tmp_path, *begun(), *section_done("A"))
    shown_page = window.show(PiecePage(a_context(), opened(room)), "piece")
    shown_page.scroll.scroll_to(window.button(TOO_HARD), animate=False)
    window.frames(4)
    window.tap_words(TOO_HARD)
    (aside,) = room.journal.progress.laid_aside
    assert aside.set_aside_reason == TOO_HARD
