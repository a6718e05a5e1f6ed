from fractions import Fraction

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import NoteNameError
from coach.music import BeatGrid, Meter, Span


@pytest.mark.parametrize("text", ["2/4", "3/4", "4/4", "2/2", "3/8", "6/8", "9/8", "12/8", "5/4", "6/4"])
def test_meters_agree_with_music21(text: str) -> None:
    meter, other = Meter.parse(text), music21.meter.TimeSignature(text)
    assert meter.bar == Fraction(other.barDuration.quarterLength)
    if text not in {"6/4", "3/8"}:  # music21 beats 6/4 in two and 3/8 in one; we keep the written unit
        assert meter.beats == other.beatCount
        assert meter.beat == Fraction(other.beatDuration.quarterLength)
    assert str(meter) == text


@pytest.mark.parametrize("text", ["", "4", "4/3", "0/4", "33/4", "x/4", "4/4/4", "-3/4"])
def test_what_is_no_meter_is_refused(text: str) -> None:
    with pytest.raises(NoteNameError, match="3/4"):
        Meter.parse(text)


def test_a_steady_grid_counts_quarters() -> None:
    grid = BeatGrid.steady(120.0, offset_s=1.0)
    assert grid.second_of(Fraction(3, 2)) == pytest.approx(1.75)
    assert grid.quarter_of(2.0) == pytest.approx(2.0)
    assert grid.tempo_bpm == pytest.approx(120.0)


@given(st.lists(st.floats(0.1, 3.0), min_size=2, max_size=20), st.floats(-50, 50))
def test_the_grid_is_its_own_inverse(steps: list[float], quarter: float) -> None:
    seconds = [0.5]
    for step in steps:
        seconds.append(seconds[-1] + step)
    grid = BeatGrid(tuple(Fraction(i) for i in range(len(seconds))), tuple(seconds))
    assert grid.quarter_of(grid.second_of(quarter)) == pytest.approx(quarter, abs=1e-9)


def test_anchors_that_do_not_rise_are_misuse() -> None:
    with pytest.raises(ValueError, match="rise"):
        BeatGrid((Fraction(0), Fraction(1)), (1.0, 1.0))


def test_spans_share_time() -> None:
    assert Span(0.0, 2.0).shared_s(Span(1.5, 3.0)) == pytest.approx(0.5)
    assert Span(0.0, 1.0).shared_s(Span(1.0, 2.0)) == 0.0
    with pytest.raises(ValueError, match="end after"):
        Span(1.0, 1.0)
