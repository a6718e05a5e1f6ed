# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The last decision of choosing a piece: sections proposed at phrases, changed by two taps on bar tiles."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.practice.events import GridSet, SectionsSet
from coach.sessions.piece.bringing_in import bundled_pieces
from coach.sessions.piece.material import grid_of
from coach.sessions.ports import AnalysisCache
from coach.sessions.survey import NOTHING_SOUNDS, survey
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.beat_control import BeatControl
from coach.ui.presenters.choose import ChoosePresenter
from coach.ui.presenters.choose_view import WITHOUT_BEATS, ChooseView, Decision
from coach.ui.presenters.drawn import Loop, Tile
from coach.ui.presenters.view import Ready
from tests.synth import RATE_HZ, place, pluck
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Shown, Went, a_context, went_to


def shown(presenter: ChoosePresenter) -> ChooseView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


@pytest.fixture(scope="module")
def analyses(tmp_path_factory: pytest.TempPathFactory) -> AnalysisCache:
    """One for all: the bundled pieces are analysed once."""
    return make_services(tmp_path_factory.mktemp("analyses")).cache()


@pytest.fixture
def room(tmp_path: Path, analyses: AnalysisCache) -> ScriptedRoom:
    return ScriptedRoom(tmp_path, cache=lambda: analyses)


@pytest.fixture
def presenter(room: ScriptedRoom) -> ChoosePresenter:
    """At the last decision: the first bundled piece (4/4), as if with an upbeat, on the heard beat."""
    presenter = ChoosePresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    presenter.take(bundled_pieces(room.services)[0].id)
    presenter.act()
    presenter.beat(lambda beat: beat.set_upbeat("yes"))
    presenter.act()
    assert shown(presenter).decision is Decision.BARS
    return presenter


def test_sections_are_proposed_changed_by_two_taps_and_taken(
    presenter: ChoosePresenter, room: ScriptedRoom
) -> None:
    first = shown(presenter)
    assert 6 <= first.chosen_bars <= 10
    assert len(first.tiles) >= first.chosen_bars
    assert first.tiles[0].section == "A"
    assert first.sections[0].startswith("A: its upbeat and bars 1 to ")
    presenter.set_bars(str(first.chosen_bars))
    presenter.mark(Loop(0, 0))
    assert shown(presenter).sections == first.sections
    presenter.mark(Loop(0, 1))
    assert shown(presenter).sections[0] == "A: its upbeat and bars 1 to 2"
    presenter.mark(Loop(2, 2 + 3))
    assert [tile.number for tile in shown(presenter).tiles if tile.section][:2] == [1, 3]
    presenter.mark(Loop(0, shown(presenter).chosen_bars - 1))
    (whole,) = shown(presenter).sections
    presenter.act()
    (event,) = room.events(SectionsSet)
    assert [section.name for section in event.sections] == ["A"]
    assert event.sections[0].onset == 0
    assert whole == f"A: its upbeat and bars 1 to {shown(presenter).chosen_bars}"


def test_the_heard_beat_is_the_default_and_kept_with_an_anchor_on_each_beat(
    presenter: ChoosePresenter, room: ScriptedRoom
) -> None:
    (grid,) = room.events(GridSet)
    assert (grid.meter, grid.pickup, grid.feel) == ("4/4", 1, "straight")
    heard = survey(room.services, room.recording_path())
    assert grid.seconds == heard.beats_s
    assert grid.quarters[heard.ones[2]] == grid.pickup


def test_without_a_loudspeaker_the_beat_is_still_shown(room: ScriptedRoom) -> None:
    presenter = ChoosePresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    presenter.take(bundled_pieces(room.services)[1].id)
    presenter.act()
    view = shown(presenter)
    assert "There is no loudspeaker" in view.said
    assert view.beat is not None
    assert (view.beat.meter, len(view.beat.tiles)) == ("3/4", 8)  # the app knows its own pieces
    presenter.beat(BeatControl.tap_anew)
    presenter.act()
    assert "There is no loudspeaker" in shown(presenter).said
    presenter.beat(BeatControl.hear)
    assert shown(presenter).action == "That is the beat"


def test_a_recording_without_a_steady_beat_is_cut_by_the_clock(room: ScriptedRoom) -> None:
    presenter = ChoosePresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    presenter.take(bundled_pieces(room.services)[1].id)
    presenter.act()
    presenter.without_beats()
    view = shown(presenter)
    assert view.decision is Decision.BARS
    assert view.sentence.startswith(WITHOUT_BEATS)
    presenter.act()
    piece = room.journal.progress.piece
    assert piece.without_beats
    assert grid_of(piece).second_of(piece.sections[0].end) == float(
        piece.sections[0].end
    )  # four seconds a bar


def test_a_beat_that_was_decided_stays_when_a_newer_version_hears_another(
    presenter: ChoosePresenter, room: ScriptedRoom, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard = survey(room.services, room.recording_path())
    other = replace(
        heard, tempo_bpm=33.0, beats_s=heard.beats_s[::2], bars_s=heard.bars_s[1::2], ones=(1, 2, 3)
    )
    monkeypatch.setattr("coach.ui.presenters.choose.survey_of", lambda *_: other)
    again = ChoosePresenter(room, Now(), InlineRunner(), Went())
    again.opened()
    again.second()
    assert shown(again).decision is Decision.BEAT
    again.act()
    assert shown(again).decision is Decision.BARS
    first, second = room.events(GridSet)
    count = len(first.seconds)  # the even beat may go on to the end of the recording
    assert (second.meter, second.pickup, second.quarters[:count]) == (
        first.meter,
        first.pickup,
        first.quarters,
    )
    assert second.seconds[:count] == pytest.approx(first.seconds, abs=1e-6)


def test_who_comes_back_after_the_beat_goes_on_with_the_bars(
    presenter: ChoosePresenter, room: ScriptedRoom
) -> None:
    """What was decided is not asked again, and can be gone back to."""
    again = ChoosePresenter(room, Now(), InlineRunner(), Went())
    again.opened()
    assert shown(again).decision is Decision.BARS
    again.second()
    view = shown(again)
    assert view.beat is not None
    assert (view.decision, view.beat.upbeat) == (Decision.BEAT, True)
    assert again._beat is not None
    kept = room.journal.progress.piece.grid
    assert again._beat.grid.seconds[:8] == pytest.approx(kept.seconds[:8], abs=1e-3)


def test_the_advice_may_be_taken_and_another_recording_chosen(room: ScriptedRoom) -> None:
    presenter = ChoosePresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    presenter.take(bundled_pieces(room.services)[0].id)
    assert shown(presenter).decision is Decision.LISTEN
    assert sum("can check" in fact for fact in shown(presenter).facts) <= 1
    presenter.second()
    assert went_to(presenter) == [("choose", {})], "anew: a file that was handed in is not brought in again"
    presenter.opened()
    view = shown(presenter)
    assert view.decision is Decision.RECORDING
    title = bundled_pieces(room.services)[0].title
    assert [aside.title for aside in view.aside] == [title]
    assert title not in [each.title for each in view.offered], "one tune is offered once"
    presenter.take_up(view.aside[0].piece)
    assert shown(presenter).decision is Decision.LISTEN


def test_what_a_damaged_file_has_lost_is_said_beside_the_advice(room: ScriptedRoom, tmp_path: Path) -> None:
    sound = place([(0.5 * n, pluck(220.0 + 20.0 * n, 0.5)) for n in range(16)], 8.5)
    soundfile.write(tmp_path / "whole.wav", sound, RATE_HZ)
    whole = (tmp_path / "whole.wav").read_bytes()
    (tmp_path / "half.wav").write_bytes(whole[: len(whole) // 2])
    presenter = ChoosePresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    presenter.bring(str(tmp_path / "half.wav"))
    assert shown(presenter).decision is Decision.LISTEN
    assert "The file ends early: the first 4.2 seconds of 8.5 seconds could be read." in shown(presenter).said


def test_of_a_silent_recording_nothing_else_is_claimed(room: ScriptedRoom, tmp_path: Path) -> None:
    soundfile.write(tmp_path / "silent.wav", np.zeros(6 * RATE_HZ, np.float32), RATE_HZ)
    presenter = ChoosePresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    presenter.bring(str(tmp_path / "silent.wav"))
    assert shown(presenter).facts == (NOTHING_SOUNDS,)
    assert shown(presenter).second == "Another recording"


def test_a_section_of_one_bar_is_told_and_refused(presenter: ChoosePresenter, room: ScriptedRoom) -> None:
    presenter.set_bars("4")
    presenter.mark(Loop(0, 2))
    assert "1 bars: choose 2 to 8" in shown(presenter).said
    presenter.act()
    assert shown(presenter).decision is Decision.BARS
    assert room.events(SectionsSet) == []


@pytest.mark.window
def test_two_taps_on_tiles_mark_a_section(window: RealWindow) -> None:
    from coach.ui.screens.choose.screen import ChoosePage

    tiles = tuple(Tile(n, (0.2, 0.9, 0.4), 3, {1: "A", 5: "B"}.get(n, "")) for n in range(1, 13))
    words = ("A: its upbeat and bars 1 to 4", "B: its upbeat and bars 5 to 8")
    view = ChooseView(
        Decision.BARS, "Which bars?", "Take this piece in hand", bars=(4, 8, 12), tiles=tiles, sections=words
    )
    presenter = Shown(Ready(view))
    told: list[Loop] = []
    presenter.__dict__["mark"] = told.append
    page = window.show(ChoosePage(a_context(), presenter))
    assert [tile.inside for tile in page.tiles.tiles] == [True] * 8 + [False] * 4
    window.tap(page.tiles.tiles[2])
    window.tap(page.tiles.tiles[5])
    assert told == [Loop(2, 2), Loop(2, 5)]
    assert not faults(window)
