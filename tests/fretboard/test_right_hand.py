from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from coach.fretboard.right_hand import right_hand

STRINGS = st.lists(
    st.lists(st.integers(1, 6), min_size=1, max_size=2, unique=True).map(tuple), min_size=1, max_size=30
)


@given(STRINGS)
def test_thumb_below_fingers_above_and_never_one_finger_twice(strikes: list[tuple[int, ...]]) -> None:
    # Common practice: p on strings 6, 5 and 4, i m a on the others.
    for strings, fingers in zip(strikes, right_hand(strikes), strict=True):
        assert len(set(fingers)) == len(strings)
        for string, finger in zip(strings, fingers, strict=True):
            assert finger in "pima"
            if string <= 3:
                assert finger != "p"
            elif string == max(strings):
                assert finger == "p"


@given(st.lists(st.integers(1, 3), min_size=2, max_size=30))
def test_fingers_take_turns(strings: list[int]) -> None:
    fingers = [finger for (finger,) in right_hand([(string,) for string in strings])]
    assert all(one != other for one, other in pairwise(fingers))


def test_a_pinch_of_two_upper_strings_keeps_the_hand_in_order() -> None:
    ((low, high),) = right_hand([(3, 1)])
    assert "ima".index(low) < "ima".index(high)
    assert right_hand([()]) == ((),)
