"""The play page in a window: what is played first, how fast, and that the sheet is in sight meanwhile."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from coach.music import Meter
from coach.practice.events import PlayedSettled, PlayedThrough
from coach.sessions.piece.play_desk import Part
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.play import PlayPresenter
from coach.ui.presenters.play_view import MOST_EMPTY_ROWS, PlayView, Way, tempi_of
from coach.ui.presenters.view import Ready
from tests.in_hand import take_in_hand
from tests.sheet_pieces import fingered_piece
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context


@pytest.fixture
def room(tmp_path: Path) -> ScriptedRoom:
    room = ScriptedRoom(tmp_path)
    take_in_hand(room.journal, fingered_piece()[0])
    return room


def opened(room: ScriptedRoom) -> PlayPresenter:
    presenter = PlayPresenter(room, "A", Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def shown(presenter: PlayPresenter) -> PlayView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def test_the_thumb_comes_first_until_the_section_was_played(room: ScriptedRoom) -> None:
    """“Thumb alone, melody alone, …, then both” (the product's own order)."""
    presenter = opened(room)
    assert shown(presenter).part is Part.THUMB
    presenter.set_way(Way.LISTENED.value)
    assert shown(presenter).part is Part.BOTH
    presenter.set_way(Way.ALONG.value)
    presenter.act()
    assert shown(presenter).sentence == "Thumb alone: play along."
    presenter.act()
    presenter.set_part(Part.MELODY.value)
    presenter.set_way(Way.LISTENED.value)
    assert shown(presenter).part is Part.MELODY, "what the player chose stays"
    piece = room.journal.piece_in_hand
    room.journal.write(PlayedSettled(piece.piece, "A"))
    assert shown(opened(room)).part is Part.BOTH


@pytest.mark.parametrize(
    ("own_bpm", "tempi"),
    [
        (87.9, (40, 50, 60, 70, 80, 88)),
        (132.0, (40, 50, 60, 70, 80, 90, 100, 120, 132)),
        (61.0, (40, 50, 61)),
        (38.2, (38,)),
    ],
)
def test_it_is_played_up_to_the_tempo_of_the_piece(own_bpm: float, tempi: tuple[int, ...]) -> None:
    assert tempi_of(own_bpm) == tempi


def test_in_six_eight_the_tempo_is_told_in_its_own_beats(tmp_path: Path) -> None:
    """A beat of 6/8 is a dotted quarter (common practice): eight quarters in six seconds are 53 of them."""
    room = ScriptedRoom(tmp_path)
    take_in_hand(room.journal, replace(fingered_piece()[0], meter=Meter(6, 8), pickup=Fraction(0)))
    presenter = opened(room)
    assert shown(presenter).tempi == (40, 53)
    assert shown(presenter).tempo == 40
    presenter.act()
    (played,) = room.events(PlayedThrough)
    assert played.tempo_bpm == 60.0  # the log counts quarters


def test_high_stretches_of_empty_paper_are_left_out(room: ScriptedRoom) -> None:
    for page in shown(opened(room)).pages:
        rows = np.frombuffer(page.rgba, np.uint8).reshape(page.height, page.width, 4)[:, :, 0]
        run = longest = 0
        for blank in np.all(rows > 250, axis=1):
            run = run + 1 if blank else 0
            longest = max(longest, run)
        assert longest <= MOST_EMPTY_ROWS


@pytest.mark.window
@pytest.mark.parametrize("size", [(800, 480), (1280, 800)])
def test_while_it_is_played_nothing_stands_between_the_hand_and_the_sheet(
    window: RealWindow, room: ScriptedRoom, size: tuple[int, int]
) -> None:
    from coach.ui.screens.play.screen import PlayPage  # noqa: PLC0415 - as everywhere

    window.resize(*size)
    presenter = PlayPresenter(room, "A", Now(), InlineRunner(), Went())
    page = window.show(PlayPage(a_context(), presenter))
    window.frames(6)
    assert "Thumb alone" in window.buttons()
    window.tap_words("Count in")
    window.frames(6)
    assert window.buttons() == ["Stop"]
    assert not faults(window)
    sheet_top = page.sheet.to_window(page.sheet.x, page.sheet.top)[1]
    assert sheet_top > 0.55 * size[1], "more than half of the window is the sheet's and the button's"
    window.tap_words("Stop")
    window.frames(6)
    assert {"Thumb alone", "Good enough for now", "Count in"} <= set(window.buttons())


@pytest.mark.window
def test_the_page_has_its_air_again_after_it_was_listened_to(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.play.screen import PlayPage  # noqa: PLC0415 - as everywhere

    presenter = PlayPresenter(room, "A", Now(), InlineRunner(), Went())
    page = window.show(PlayPage(a_context(), presenter))
    window.frames(4)
    usual = (page.edge_dp, page.body.spacing)
    presenter.set_way(Way.LISTENED.value)
    presenter.act()
    assert page.edge_dp < usual[0]
    room.world.let_pass(8.0)
    presenter.act()
    assert not shown(presenter).recording
    window.frames(4)
    assert (page.edge_dp, page.body.spacing) == usual


@pytest.mark.window
def test_the_sections_are_joined_with_the_click_before_the_take(
    window: RealWindow, room: ScriptedRoom
) -> None:
    """“Then sections are joined, and one whole take is recorded” (the product's own order)."""
    from coach.ui.screens.play.screen import PlayPage  # noqa: PLC0415 - as everywhere

    room.journal.write(PlayedSettled(room.journal.piece_in_hand.piece, "A"))
    presenter = PlayPresenter(room, None, Now(), InlineRunner(), Went())
    window.show(PlayPage(a_context(), presenter))
    presenter.opened()
    window.frames(6)
    assert {"Practise it with me", "Record it", "Record the take"} <= set(window.buttons())
    window.tap_words("Practise it with me")
    assert {"Both lines", "Count in"} <= set(window.buttons())
    assert not faults(window)
    window.tap_words("Count in")
    window.frames(4)
    assert window.buttons() == ["Stop"]
    window.tap_words("Stop")
    (played,) = room.events(PlayedThrough)
    assert (played.section, played.part) == (None, "both")
    window.tap_words("Record it")
    assert "Record the take" in window.buttons()
