"""A piece is recorded through the microphone and taken in hand; a piece laid aside is gone on with."""

from pathlib import Path

import pytest

from coach.practice.events import PieceChosen, PieceSetAside, PieceTakenUp
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.choose import ChoosePresenter
from coach.ui.presenters.choose_view import ChooseView, Decision
from coach.ui.presenters.record import SHORTEST_S, RecordPresenter, RecordView, Turn
from coach.ui.presenters.view import Missing, Ready
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went

TUNE = (55, 59, 62, 64)


def opened(room: ScriptedRoom) -> tuple[RecordPresenter, Went]:
    went = Went()
    presenter = RecordPresenter(room, Now(), InlineRunner(), went)
    presenter.opened()
    return presenter, went


def view_of(presenter: RecordPresenter) -> RecordView:
    assert isinstance(presenter.view, Ready), presenter.view
    return presenter.view.value


def play_for(room: ScriptedRoom, seconds: float) -> None:
    room.world.pluck(*TUNE)
    room.world.let_pass(seconds)


def test_what_was_played_is_taken_in_hand_as_it_sounded(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter, went = opened(room)
    presenter.act()
    play_for(room, 6.0)
    presenter.look_up()
    assert view_of(presenter).length == "6 s"
    presenter.act()
    presenter.name("Ferry bell")
    assert view_of(presenter).turn is Turn.AFTER
    presenter.act()
    assert went.to == [("choose", {})]
    piece = room.journal.progress.piece
    assert piece is not None
    assert piece.title == "Ferry bell"
    kept = room.services.decoder().decode(room.recording_path())
    assert kept.duration_s == pytest.approx(6.0, abs=0.1)
    assert float(abs(kept.mono).max()) > 0.05


def test_it_is_heard_before_it_is_kept_and_can_be_made_anew(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter, went = opened(room)
    presenter.act()
    play_for(room, 6.0)
    presenter.act()
    presenter.hear()
    assert room.world.output.sounding
    assert view_of(presenter).sounding
    presenter.act_second()
    assert not room.world.output.sounding
    assert view_of(presenter).turn is Turn.BEFORE
    presenter.act_second()
    assert went.to == [("choose", {})]
    assert room.journal.progress.piece is None


def test_leaving_the_screen_loses_no_recording(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter, _ = opened(room)
    presenter.act()
    play_for(room, 6.0)
    presenter.closed()
    again, _ = opened(room)
    assert view_of(again).turn is Turn.AFTER
    assert view_of(again).length == "6 s"
    again.act_second()
    again.closed()
    thrown_away, _ = opened(room)
    assert view_of(thrown_away).turn is Turn.BEFORE


def test_a_slip_of_the_finger_is_no_piece(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter, _ = opened(room)
    presenter.act()
    play_for(room, SHORTEST_S - 1)
    presenter.act()
    assert view_of(presenter).turn is Turn.BEFORE
    assert "once more" in view_of(presenter).said


def test_without_a_microphone_it_says_so(tmp_path: Path) -> None:
    presenter, _ = opened(ScriptedRoom(tmp_path, microphone=False))
    assert isinstance(presenter.view, Missing)


def test_a_piece_laid_aside_is_offered_with_its_reason_and_gone_on_with(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    room.journal.write(PieceChosen("p", "Ferry Bell", None))
    room.journal.write(PieceSetAside("p", "It was too fast."))
    went = Went()
    presenter = ChoosePresenter(room, Now(), InlineRunner(), went)
    presenter.opened()
    assert isinstance(presenter.view, Ready)
    view: ChooseView = presenter.view.value
    assert view.decision is Decision.RECORDING
    (aside,) = view.aside
    assert aside.title == "Ferry Bell"
    assert "“It was too fast.”" in aside.words
    presenter.take_up("p")
    assert room.events(PieceTakenUp) == [PieceTakenUp("p")]
    assert room.journal.progress.in_hand == "p"
