import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import NoteNameError
from coach.fretboard.stops import Neck
from coach.fretboard.tuning import SCALE_MM, STANDARD, Tuning, fret_mm, from_capo_mm

FRET_CONSTANT = 17.817154
"""Guitar makers divide what is left of the string by this to get the next fret; equal temperament's
1 / (1 - 2^(-1/12)). Published in every table of fret spacing; here from memory."""
FRET_TOLERANCE_MM = 1e-4
"""The constant is printed with eight digits."""


def test_frets_lie_where_the_makers_rule_puts_them() -> None:
    at = 0.0
    for fret in range(1, 25):
        at += (SCALE_MM - at) / FRET_CONSTANT
        assert math.isclose(fret_mm(fret), at, abs_tol=FRET_TOLERANCE_MM)


def test_the_twelfth_fret_halves_the_string_and_the_nineteenth_leaves_a_third() -> None:
    assert fret_mm(12) == pytest.approx(SCALE_MM / 2)
    # 2^(19/12) = 2.9966, two cents from the pure twelfth 3:1.
    assert SCALE_MM - fret_mm(19) == pytest.approx(SCALE_MM / 3, rel=0.0012)


@given(st.integers(0, 9), st.integers(0, 12))
def test_a_capo_shortens_the_string_and_nothing_else(capo: int, fret: int) -> None:
    shorter = SCALE_MM - fret_mm(capo)
    assert from_capo_mm(fret, capo) == pytest.approx(fret_mm(fret, shorter))


def test_standard_tuning_by_name() -> None:
    assert Tuning.parse("E2,A2,D3,G3,B3,E4") == STANDARD
    assert STANDARD.name == "E2,A2,D3,G3,B3,E4"
    assert STANDARD.lowered(6).name == "D2,A2,D3,G3,B3,E4"
    assert [STANDARD.open_midi(string) for string in (1, 6)] == [64, 40]


@pytest.mark.parametrize("text", ["", "E2", "E2,A2,D3,G3,B3", "E2,A2,D3,G3,B3,H4", "E9,A2,D3,G3,B3,E4", "40"])
def test_what_is_no_tuning_is_refused(text: str) -> None:
    with pytest.raises(NoteNameError, match=r"E2,A2,D3,G3,B3,E4|not a note name"):
        Tuning.parse(text)


def test_misuse_is_a_value_error() -> None:
    with pytest.raises(ValueError, match="no such string"):
        STANDARD.open_midi(7)
    with pytest.raises(ValueError, match="no such neck"):
        Neck(capo=30)


@given(st.integers(30, 90), st.integers(0, 9))
def test_every_stop_gives_the_pitch(midi: int, capo: int) -> None:
    neck = Neck(capo=capo)
    for stop in neck.stops(midi):
        assert STANDARD.open_midi(stop.string) + capo + stop.fret == midi
        assert capo + stop.fret <= max(neck.reach.max_fret, capo)
        assert (stop.finger == 0) == (stop.fret == 0)
