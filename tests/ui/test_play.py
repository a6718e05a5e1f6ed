"""The play screen without a window: counted in, listened to, told bar by bar; and the one whole take."""

from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from coach.notation import LineKind
from coach.pieces.played import Result
from coach.practice.events import PlayedSettled, PlayedThrough, TakeKept
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.play import PlayPresenter
from coach.ui.presenters.play_view import PlayView
from coach.ui.presenters.view import Ready
from tests.in_hand import take_in_hand
from tests.sheet_pieces import fingered_piece
from tests.taken import performed
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went

PIECE = fingered_piece()[0]
RATE_HZ = 48_000


@pytest.fixture
def room(tmp_path: Path) -> ScriptedRoom:
    room = ScriptedRoom(tmp_path)
    take_in_hand(room.journal, PIECE)
    return room


def opened(room: ScriptedRoom, section: str | None = "A") -> PlayPresenter:
    presenter = PlayPresenter(room, section, Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def shown(presenter: PlayPresenter) -> PlayView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def plays(room: ScriptedRoom, tempo_bpm: float, *, gone: bool) -> None:
    """The player waits for the count-in to be over and plays; one lone tune note is left out."""
    room.until(lambda: not room.world.listener.deaf)
    struck = {note.onset for note in PIECE.bass}
    lone = next(
        index
        for index, note in enumerate(PIECE.melody)
        if note.onset not in struck and PIECE.bar_of(note.onset)
    )
    slips = {(LineKind.MELODY, lone): None} if gone else {}
    take = performed(PIECE, tempo_bpm, Random(1), slips=slips, lead_s=0.2, rate_hz=RATE_HZ).samples
    room.world.microphone.say(take)
    room.world.let_pass(len(take) / RATE_HZ + 0.2)


def test_the_player_is_counted_in_listened_to_and_told_the_hardest_bar(room: ScriptedRoom) -> None:
    presenter = opened(room)
    presenter.set_way("listened")
    assert shown(presenter).action == "Count in"
    presenter.act()
    assert shown(presenter).action == "Stop and listen"
    assert room.world.output.sounding
    plays(room, 60.0, gone=True)
    presenter.act()
    view = shown(presenter)
    (event,) = room.events(PlayedThrough)
    assert event.tempo_bpm == pytest.approx(60.0, rel=0.01)
    assert event.hardest_bar is not None
    assert view.action == "Once more, slower"
    assert f"Hardest: bar {event.hardest_bar}" in view.heard
    assert [bar.number for bar in view.bars if bar.hardest] == [event.hardest_bar]
    faults = [mark for bar in view.bars for mark in bar.marks if mark.result is not Result.RIGHT]
    assert [mark.result for mark in faults] == [Result.MISSING]


def test_once_more_goes_slower_and_forgets_what_was_heard(room: ScriptedRoom) -> None:
    presenter = opened(room)
    presenter.set_way("listened")
    presenter.act()
    plays(room, 60.0, gone=True)
    presenter.act()
    presenter.act()
    assert (shown(presenter).tempo, shown(presenter).action) == (50, "Stop and listen")
    assert shown(presenter).bars == ()


def test_all_right_is_played_once_more_as_fast(room: ScriptedRoom) -> None:
    presenter = opened(room)
    presenter.set_way("listened")
    presenter.act()
    plays(room, 60.0, gone=False)
    presenter.act()
    assert shown(presenter).action == "Once more"
    presenter.act()
    assert shown(presenter).tempo == 60
    presenter.act()
    presenter.act_second()
    assert room.events(PlayedSettled)


def test_a_silent_take_is_told_and_not_logged(room: ScriptedRoom) -> None:
    presenter = opened(room)
    presenter.set_way("listened")
    presenter.act()
    room.world.let_pass(6.0)
    presenter.act()
    assert "I could not lay this take beside the sheet" in shown(presenter).heard
    assert shown(presenter).action == "Once more"
    assert room.events(PlayedThrough) == []


def test_playing_along_is_not_listened_to(room: ScriptedRoom) -> None:
    presenter = opened(room)
    presenter.act()
    assert shown(presenter).action == "Stop"
    (event,) = room.events(PlayedThrough)
    assert event.right_share is None


def test_without_a_microphone_it_says_so(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path, microphone=False)
    take_in_hand(room.journal, PIECE)
    presenter = opened(room)
    presenter.set_way("listened")
    presenter.act()
    assert "no microphone" in shown(presenter).said
    assert shown(presenter).action == "Count in"


def test_with_headphones_the_click_goes_on(room: ScriptedRoom) -> None:
    store = room.services.settings()
    store.save(replace(store.load(), headphones=True))
    presenter = opened(room)
    presenter.set_way("listened")
    presenter.act()
    beats = PIECE.meter.beats + float(PIECE.end / PIECE.meter.beat)
    assert len(room.world.output.played[-1]) / RATE_HZ == pytest.approx(beats, abs=0.5)


def test_the_whole_take_is_heard_and_kept(room: ScriptedRoom) -> None:
    room.journal.write(PlayedSettled("p", "A"))
    presenter = opened(room, None)
    presenter.act()
    assert shown(presenter).action == "End the take"
    plays(room, 66.0, gone=True)
    presenter.act()
    view = shown(presenter)
    assert (view.action, view.second) == ("Keep this take", "Once more")
    assert "Hardest: bar" in view.heard
    assert len(view.bars) == len({PIECE.bar_of(note.onset) for line in PIECE.lines for note in line})
    presenter.act_second()
    assert shown(presenter).action == "Record the take"
    assert shown(presenter).bars == ()
    assert np.size(room.events(TakeKept)) == 0


def test_a_take_that_is_not_kept_yet_waits_while_another_screen_is_on(room: ScriptedRoom) -> None:
    room.journal.write(PlayedSettled("p", "A"))
    presenter = opened(room, None)
    presenter.act()
    room.world.let_pass(3.0)
    presenter.closed()
    again = opened(room, None)
    assert shown(again).action == "Keep this take"
    again.act_second()
    again.closed()
    assert shown(opened(room, None)).action == "Record the take"
