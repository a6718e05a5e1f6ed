"""Beats that a player moves, adds, takes away, reads another way: the music's own times are the outside."""

from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from coach.errors import InputError
from coach.music import Meter
from coach.pieces.beat_marks import LEAST_GAP_S, READINGS, BeatMarks, nearest

FOUR = Meter(4, 4)
STEADY = BeatMarks(tuple(1.0 + 0.5 * n for n in range(24)), 1)


@st.composite
def marks(draw: st.DrawFn) -> BeatMarks:
    steps = draw(st.lists(st.floats(0.25, 1.5), min_size=3, max_size=40))
    times = [draw(st.floats(0.0, 3.0))]
    for step in steps:
        times.append(times[-1] + step)
    return BeatMarks(tuple(times), draw(st.integers(0, len(times) - 1)))


def test_one_beat_moves_alone_and_never_over_its_neighbours() -> None:
    later = STEADY.moved(5, 0.02)
    assert later.seconds[5] == pytest.approx(3.52)
    assert [a for n, a in enumerate(later.seconds) if n != 5] == [
        a for n, a in enumerate(STEADY.seconds) if n != 5
    ]
    assert STEADY.moved(5, 9.0).seconds[5] == pytest.approx(4.0 - LEAST_GAP_S)
    assert STEADY.moved(0, -9.0).seconds[0] == 0.0
    with pytest.raises(InputError, match="no room"):
        STEADY.moved(0, -9.0).moved(0, -0.02)


def test_what_is_written_keeps_its_place_in_beats_when_a_beat_moves() -> None:
    before, after = (each.grid(FOUR, Fraction(1)) for each in (STEADY, STEADY.moved(5, 0.1)))
    assert before.quarters == after.quarters
    assert after.second_of(Fraction(5)) - before.second_of(Fraction(5)) == pytest.approx(0.1)
    assert after.second_of(Fraction(9, 2)) - before.second_of(Fraction(9, 2)) == pytest.approx(0.05)
    assert after.second_of(Fraction(6)) == before.second_of(Fraction(6))


def test_a_beat_more_or_less_renumbers_what_comes_after_it_only() -> None:
    more = STEADY.added(3)
    assert more.seconds[4] == pytest.approx(2.75)
    assert (len(more.seconds), more.one) == (25, 1)
    assert more.removed(4) == STEADY
    assert STEADY.added(0).one == 2  # before the ONE: the ONE is the same moment
    assert STEADY.removed(0).seconds[STEADY.removed(0).one] == STEADY.seconds[1]
    assert STEADY.added(23).seconds[-1] == pytest.approx(13.0)


@given(marks(), st.data())
def test_adding_and_taking_away_undo_each_other(beats: BeatMarks, data: st.DataObject) -> None:
    index = data.draw(st.integers(0, len(beats.seconds) - 2))
    assert beats.added(index).removed(index + 1) == beats


@given(marks())
def test_a_grid_gives_its_marks_back(beats: BeatMarks) -> None:
    grid = beats.grid(FOUR, Fraction(1))
    again = BeatMarks.of(grid, FOUR, Fraction(1), beats.seconds[-1] + 0.01)
    found = {round(at, 6) for at in again.seconds}
    assert {round(at, 6) for at in beats.seconds} <= found
    assert again.seconds[again.one] == pytest.approx(beats.seconds[beats.one])


@given(marks(), st.sampled_from(READINGS))
def test_every_reading_keeps_the_one_and_its_own_share_of_beats(beats: BeatMarks, times: Fraction) -> None:
    read = beats.read(times)
    assume(read is not None)
    assert read.seconds[read.one] == pytest.approx(beats.seconds[beats.one])
    assert len(read.seconds) - 1 == pytest.approx((len(beats.seconds) - 1) * times, abs=2)


def test_the_four_readings_of_a_steady_pulse() -> None:
    tempos = [read.tempo_bpm for read in (STEADY.read(times) for times in READINGS) if read is not None]
    assert tempos == pytest.approx([120, 240, 60, 360, 80])


def test_taps_of_a_hand_follow_beats_that_hurry() -> None:
    """A hand misses a beat by some 30 ms and comes a little early (Repp 2005, from memory)."""
    times = [0.8]
    for n in range(40):
        times.append(times[-1] + 0.6 - 0.004 * n)
    rng = Random(5)
    taps = [at + rng.gauss(-0.02, 0.03) for at in times[4:20]]
    meant = BeatMarks.tapped(taps, 30.0, times)
    assert (meant.seconds, meant.one) == (tuple(times), 4)
    halved = BeatMarks.tapped(taps[::2], 30.0, times)
    assert halved.seconds == tuple(times[::2])
    assert halved.seconds[halved.one] == times[4]


def test_taps_beside_what_was_found_are_an_even_beat_of_their_own() -> None:
    taps = [2.25 + 0.5 * n for n in range(8)]
    meant = BeatMarks.tapped(taps, 10.0, [1.0 + 0.5 * n for n in range(18)])
    assert meant.seconds[meant.one] == pytest.approx(2.25)
    assert all(b - a == pytest.approx(0.5) for a, b in pairwise(meant.seconds))
    assert meant.seconds[0] < 0.5
    assert meant.seconds[-1] > 9.5
    with pytest.raises(InputError, match="Tap at least"):
        BeatMarks.tapped(taps[:2], 10.0)


def test_the_nearest_of_some_times() -> None:
    assert [nearest((1.0, 2.0, 4.0), at) for at in (0.0, 1.4, 1.6, 3.1, 9.0)] == [0, 0, 1, 2, 2]
    assert nearest((1.0,), 5.0) == 0
