from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.fretboard.reach import NARROW, OWN, REACHES, SEASONED, STARTER, own_reach
from coach.fretboard.stops import Neck, Stop
from coach.fretboard.tuning import fret_mm
from tests.fretboard.checker import TABLE


@pytest.mark.parametrize("name", ["starter", "seasoned"])
def test_the_hard_limits_are_the_contracts(name: str) -> None:
    table, max_fret, max_position = TABLE[name]
    reach = REACHES[name]
    for low, high in combinations((1, 2, 3, 4), 2):
        assert reach.spans.between(low, high) == table[low, high]
    assert (reach.max_fret, reach.max_position) == (max_fret, max_position)


@pytest.mark.parametrize(("little", "limit"), [(6, 87.7), (7, 112.8), (8, 128.0), (9, 128.0)])
def test_own_reach_is_what_was_shown_on_the_neck(little: int, limit: float) -> None:
    # Equal temperament: frets 3 and 6 lie 86.9 mm apart, 3 and 7 112.8 mm; never wider than seasoned.
    reach = own_reach(3, little)
    assert reach.spans.index_little == pytest.approx(limit, abs=1.0)
    assert reach.name == "own"


@given(st.integers(1, 7), st.integers(1, 6))
def test_own_reach_never_loosens_the_contract(index: int, more: int) -> None:
    spans = own_reach(index, index + more).spans
    for low, high in combinations((1, 2, 3, 4), 2):
        assert spans.between(low, high) <= SEASONED.spans.between(low, high)


def test_the_screen_calls_the_reaches_small_and_wide() -> None:
    assert (STARTER.word, SEASONED.word) == ("small", "wide")
    assert len({reach.word for reach in REACHES.values()}) == len(REACHES)


def test_misuse_is_a_value_error() -> None:
    with pytest.raises(ValueError, match="above the index"):
        own_reach(3, 3)
    with pytest.raises(ValueError, match="no such pair"):
        STARTER.spans.between(2, 1)


def test_pairs_that_hands_cannot_hold() -> None:
    neck = Neck()
    assert not neck.together(Stop(6, 3, 1), Stop(6, 4, 2))  # one string
    assert not neck.together(Stop(6, 3, 2), Stop(1, 3, 2))  # only the index lies across strings
    assert neck.together(Stop(6, 3, 1), Stop(1, 3, 1))
    assert not neck.together(Stop(6, 3, 1), Stop(1, 4, 1))
    assert not neck.together(Stop(6, 5, 1), Stop(1, 4, 2))  # a higher finger on a lower fret
    assert not neck.together(Stop(6, 3, 2), Stop(1, 5, 3))  # 59 mm for middle and ring
    assert neck.together(Stop(6, 0, 0), Stop(1, 12, 4))


def test_a_finger_stays_near_its_home() -> None:
    neck = Neck()
    assert neck.homes(Stop(6, 5, 1)) == {4, 5, 6}
    assert neck.homes(Stop(6, 1, 4)) == frozenset()
    assert neck.homes(Stop(6, 0, 0)) == set(range(1, 10))


def test_the_neck_ends_for_a_hand_with_a_high_capo() -> None:
    assert Neck(capo=5).max_fret == 7
    assert Neck(capo=5).positions == (1, 2, 3, 4)
    assert Neck(capo=9).positions == ()
    assert Neck(capo=9).homes(Stop(1, 0, 0)) == {1}


def test_the_hands_asked_about_on_the_neck_reach_what_they_said() -> None:
    # First finger on fret 3, little finger on fret 6: 87 mm by the twelfth root of two; fret 1 and 5: 127 mm.
    asked_mm, wide_mm = fret_mm(6) - fret_mm(3), fret_mm(5) - fret_mm(1)
    assert (round(asked_mm), round(wide_mm)) == (87, 127)
    assert NARROW.spans.index_little < asked_mm <= STARTER.spans.index_little < wide_mm
    assert wide_mm <= SEASONED.spans.index_little
    between_mm = fret_mm(7) - fret_mm(3)
    assert round(between_mm) == 113
    assert STARTER.spans.index_little < between_mm <= OWN.spans.index_little + 1e-9 < wide_mm
    assert NARROW.spans.index_ring <= STARTER.spans.index_ring
