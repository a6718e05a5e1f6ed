# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The page of a piece: the recording that comes later, and a piece laid aside and taken up again."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.practice.events import PieceChosen
from coach.sessions.late_recording import hash_of
from coach.sessions.practice_room import PracticeRoom
from coach.ui.presenters.choose import ChoosePresenter
from coach.ui.presenters.jobs import InlineRunner
from coach.ui.presenters.piece import PiecePresenter, PieceView
from coach.ui.presenters.view import Empty, Ready
from coach.ui.theme import PAPER, Look
from tests.practice_steps import begun, section_done
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
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
