# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The beat put right: heard with its click, tapped, read another way, moved beat by beat, kept in the log."""

from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import pytest

from coach.errors import InputError
from coach.notation import LineKind
from coach.pieces.beat_marks import BeatMarks
from coach.practice.events import GridSet, LineWritten, NoteRecord
from coach.sessions.piece.material import grid_of, span_of
from coach.sessions.player_port import LoopPart, PlayerState
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.beat import BACK, KEEP, BeatPresenter
from coach.ui.presenters.beat_control import BeatControl
from coach.ui.presenters.beat_view import BeatMode
from coach.ui.presenters.beat_work import STEP_S, BeatWork
from coach.ui.presenters.device_watch import BACK_WORDS, LOST_WORDS
from coach.ui.presenters.view import Ready
from tests.ui.beat_states import RATE_HZ, TIMES, a_control, ticking
from tests.ui.bench_room import QUARTER_S, BenchRoom, FakePlayer, opened, view_of
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.stage import Now, Went, a_context, went_to


@pytest.fixture
def player() -> FakePlayer:
    return FakePlayer()


@pytest.fixture
def control(player: FakePlayer) -> BeatControl:
    return a_control(player)


def test_the_heard_beat_clicks_at_once_with_the_high_click_on_one(
    control: BeatControl, player: FakePlayer
) -> None:
    control.play()
    part = player.parts[-1]
    inside = [at for at in TIMES if part.from_s <= at < part.to_s]
    assert list(part.clicks_s) == inside
    assert list(part.accents_s) == [at for at in TIMES[1::4] if at in inside]
    assert part.from_s < TIMES[0]  # the upbeat is heard, too
    assert len(part.accents_s) == 8
    assert player.volumes_db == [-6.0]


def test_every_change_is_heard_at_once_where_the_music_is(control: BeatControl, player: FakePlayer) -> None:
    control.play()
    control.change(lambda work: work.one_by(1))
    assert player.parts[-1].accents_s[0] == TIMES[2]
    control.change(lambda work: work.read(Fraction(2)))
    doubled = player.parts[-1].clicks_s
    assert doubled[1] - doubled[0] == pytest.approx(0.3)
    control.set_meter("3/4")
    accents = player.parts[-1].accents_s
    assert accents[1] - accents[0] == pytest.approx(0.9)
    control.stop()
    control.change(lambda work: work.one_by(1))
    assert len(player.parts) == 4


def test_another_meter_brings_its_own_likely_one_until_the_player_has_said_one() -> None:
    control = BeatControl(lambda: None, ticking(), RATE_HZ, BeatMarks(TIMES, 0), ones={4: 1, 3: 2, 2: 0})
    assert control.work.marks.one == 1
    control.set_meter("3/4")
    assert control.work.marks.one == 2
    control.change(lambda work: work.one_by(1))
    control.set_meter("4/4")
    assert control.work.marks.one == 3


def test_a_beat_is_moved_added_taken_away_and_all_of_it_undone(control: BeatControl) -> None:
    control.look_at(2)
    first = control.work.marks
    for change in (
        lambda work: work.shift(2),
        BeatWork.add,
        lambda work: work.step(2),
        BeatWork.take_away,
        BeatWork.one_here,
        lambda work: work.read(Fraction(1, 2)),
    ):
        control.change(change)
    last = control.work.marks
    assert last != first
    while control.work.can_undo:
        control.change(BeatWork.undo)
    assert control.work.marks == first
    while control.work.can_redo:
        control.change(BeatWork.redo)
    assert control.work.marks == last


def test_readings_go_back_and_forth_without_a_loss(control: BeatControl) -> None:
    first = control.work.marks
    for times in (Fraction(1, 2), Fraction(3), Fraction(2, 3), Fraction(1)):
        control.change(lambda work, times=times: work.read(times))
    assert control.work.marks == first
    assert [round(bpm) for _, bpm in control.work.readings] == [100, 200, 50, 300, 67]


def test_the_piece_may_begin_later_in_the_recording(control: BeatControl, player: FakePlayer) -> None:
    control.play()
    assert control.view().goes_on
    control.begin_later(8)
    assert player.parts[-1].accents_s[0] == TIMES[33]
    assert not control.view().goes_on
    control.change(BeatWork.undo)
    assert control.work.marks.one == 1


def test_near_a_bar_it_is_heard_slowly_and_looped(control: BeatControl, player: FakePlayer) -> None:
    control.play()
    control.look_at(3)
    part = player.parts[-1]
    assert part.from_s == pytest.approx(TIMES[9] - 0.4)
    assert part.to_s == pytest.approx(TIMES[17])
    control.slower()
    assert player.parts[-1].speed == 0.5
    control.turn(1)
    assert player.parts[-1].from_s == pytest.approx(TIMES[13] - 0.4)
    view = control.view()
    assert view.mode is BeatMode.MOVE
    assert [head.number for head in view.close.heads] == [1, 2, 3, 4, 1]
    assert view.tiles[view.bar_index].number == 4


def test_bars_before_the_first_one_can_be_looked_at(control: BeatControl) -> None:
    control.change(lambda work: work.choose(20))
    control.change(BeatWork.one_here)
    control.look_at(0)
    view = control.view()
    assert view.words.startswith("Before bar 1, beat 1 of 4")
    assert view.tiles[view.bar_index].word == "before"


def test_taps_make_the_beat_that_is_in_the_music(control: BeatControl, player: FakePlayer) -> None:
    control.tap_anew()
    with pytest.raises(InputError, match="Start the music first"):
        control.tap()
    control.play()
    assert player.parts[-1].clicks_s == ()
    for number, at in enumerate(TIMES[5:15]):
        player.position_s = at + (0.02 if number % 2 else -0.03)
        control.tap()
    control.take_taps()
    assert control.work.marks.seconds == TIMES
    assert control.work.marks.one == 5
    assert player.state is PlayerState.PLAYING  # and it is heard at once


def test_uneven_taps_are_refused_and_forgotten(control: BeatControl, player: FakePlayer) -> None:
    control.tap_anew()
    for taps in ((1.0, 1.1, 2.4, 2.5, 2.6, 4.4, 4.5, 6.0), (1.0, 1.5, 1.7, 2.9, 3.1, 3.5, 4.6, 4.9)):
        for at in taps:
            player.position_s = at
            control.tap()
        with pytest.raises(InputError, match=r"uneven|fall together"):
            control.take_taps()
    assert control.view().taps == 0


def test_a_loudspeaker_that_goes_away_is_said_once_and_the_music_goes_on(player: FakePlayer) -> None:
    control = a_control(player)
    control.play()
    assert control.device_words() is None
    player.state = PlayerState.LOST
    assert control.device_words() == LOST_WORDS
    assert control.device_words() is None
    assert control.playing  # “Stop” is offered, not “Listen”
    player.state = PlayerState.PLAYING
    assert control.device_words() == BACK_WORDS


def test_the_workbench_says_so_too(monkeypatch: pytest.MonkeyPatch) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    presenter.play_or_stop()
    presenter.look_up()
    room.fake_player.state = PlayerState.LOST
    presenter.look_up()
    assert view_of(presenter).said == LOST_WORDS
    assert view_of(presenter).sound.playing
    room.fake_player.state = PlayerState.PLAYING
    presenter.look_up()
    assert view_of(presenter).said == BACK_WORDS


# --- after notes were written -----------------------------------------------------------------------------


class Recorded(BenchRoom):
    """The bench, with a recording in which something ticks."""

    def recording(self, _jobs: object = None) -> Any:
        audio = SimpleNamespace(mono=ticking(), rate_hz=RATE_HZ, duration_s=len(ticking()) / RATE_HZ)
        return SimpleNamespace(audio=audio)


@pytest.fixture
def room() -> Recorded:
    return Recorded()


@pytest.fixture
def presenter(room: Recorded) -> BeatPresenter:
    presenter = BeatPresenter(room, "A", LineKind.MELODY, Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def shown(presenter: BeatPresenter) -> Any:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def test_a_moved_beat_is_kept_and_written_notes_stay_on_their_beats(
    presenter: BeatPresenter, room: Recorded
) -> None:
    note = NoteRecord(Fraction(2), Fraction(1), 64)
    room.journal.write(LineWritten("p", "A", "melody", (note,), "played"))
    before = room.journal.progress.piece
    presenter.beat(lambda beat: beat.change(lambda work: work.step(2)))
    presenter.beat(lambda beat: beat.change(lambda work: work.shift(3)))
    assert shown(presenter).action == KEEP
    presenter.act()
    after = room.journal.progress.piece
    assert after.section("A").melody.notes == before.section("A").melody.notes
    old, new = (span_of(grid_of(piece), note.onset, note.duration) for piece in (before, after))
    assert new.start_s - old.start_s == pytest.approx(3 * STEP_S)
    assert new.end_s == pytest.approx(old.end_s)
    assert (after.meter, after.pickup, after.grid.feel) == (before.meter, before.pickup, before.grid.feel)
    assert went_to(presenter) == [("workbench", {"section": "A", "line": "melody"})]
    assert len(room.events(GridSet)) == 2


def test_nothing_is_written_where_nothing_was_changed_or_all_was_left(
    presenter: BeatPresenter, room: Recorded
) -> None:
    assert shown(presenter).action == BACK
    presenter.beat(lambda beat: beat.change(BeatWork.add))
    presenter.beat(lambda beat: beat.change(BeatWork.undo))
    assert shown(presenter).action == BACK
    presenter.beat(lambda beat: beat.change(BeatWork.add))
    presenter.leave()
    presenter.closed()
    assert len(room.events(GridSet)) == 1


def test_what_was_put_right_is_kept_by_leaving_by_the_rail(presenter: BeatPresenter, room: Recorded) -> None:
    presenter.beat(lambda beat: beat.change(lambda work: work.shift(-1)))
    presenter.closed()
    kept = room.events(GridSet)[-1]
    assert min(kept.seconds) >= 0.0
    assert kept.seconds[kept.quarters.index(Fraction(0))] == pytest.approx(1.0 - STEP_S)
    assert kept.seconds[kept.quarters.index(Fraction(1))] == pytest.approx(1.0 + QUARTER_S)


@pytest.mark.window
def test_beats_are_put_right_by_hand_and_by_key(
    window: RealWindow, presenter: BeatPresenter, room: Recorded
) -> None:
    from coach.ui.screens.beat.screen import BeatPage

    page = window.show(BeatPage(a_context(), presenter))
    bar = page.panel.bar
    flags = {head.index: bar.x_of(head.share) for head in bar.bar.heads}
    second = sorted(flags)[1]
    window.tap(bar, across=(flags[second] - bar.x) / bar.width, up=0.85)
    assert presenter._beat.work.chosen == second
    at_s = presenter._beat.work.marks.seconds[second]
    window.tap_words("Later")
    assert presenter._beat.work.marks.seconds[second] == pytest.approx(at_s + STEP_S)
    assert page.panel.bar is bar  # in place: nothing jumps under the finger
    assert page.key(45, "-", []) is True
    assert page.key(45, "-", []) is True
    assert presenter._beat.work.marks.seconds[second] == pytest.approx(at_s - STEP_S)
    assert page.arrow("right") is True
    many = len(presenter._beat.work.marks.seconds)
    assert page.key(127, "", []) is True
    assert len(presenter._beat.work.marks.seconds) == many - 1
    assert page.key(122, "z", ["ctrl"]) is True
    assert len(presenter._beat.work.marks.seconds) == many
    window.frames(6)
    assert not faults(window)


@pytest.mark.window
def test_a_line_moves_through_bar_and_tiles_and_rests_with_the_music(
    window: RealWindow, presenter: BeatPresenter, room: Recorded
) -> None:
    from coach.ui.screens.beat.screen import BeatPage
    from coach.ui.widgets.tiles import bars_passed

    page = window.show(BeatPage(a_context(), presenter))
    room.fake_player.play(LoopPart(1.0, 4.0))
    room.fake_player.position_s = 1.0 + 2 * QUARTER_S
    window.wait(0.2)
    moving = page.panel.bar._cursor.points
    share = (room.fake_player.position_s - page.panel.bar.bar.from_s) / (
        page.panel.bar.bar.to_s - page.panel.bar.bar.from_s
    )
    assert moving[0] == pytest.approx(page.panel.bar.x_of(share), abs=1)
    assert sum(bool(tile._cursor.points) for tile in page.panel.tiles.tiles) == 1
    room.fake_player.stop()
    window.wait(0.2)
    assert not page.panel.bar._cursor.points
    assert [bars_passed((0, 4, 6), at) for at in (0, 3, 5, 6, None)] == [0.0, 0.75, 1.5, None, None]


def test_the_heard_beat_comes_back_after_taps_that_went_wrong(
    control: BeatControl, player: FakePlayer
) -> None:
    control.tap_anew()
    control.play()
    for at in TIMES[5:15]:
        player.position_s = at
        control.tap()
    control.take_taps()
    assert control.sentence.startswith("You tapped ")
    assert control.changed
    control.tap_anew()
    assert control.view().heard
    control.hear_first()
    assert control.sentence.startswith("I hear ")
    assert (control.mode, control.work.marks.one, control.changed) == (BeatMode.HEAR, 1, False)
