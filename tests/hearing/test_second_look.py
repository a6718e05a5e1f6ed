"""What a second look at a young note lets pass."""

from dataclasses import replace

from coach.hearing.second_look import SecondLook

UNSTEADY = SecondLook(
    pitch=52.7,
    fall_db=2.0,
    grown_db=9.0,
    own=0.5,
    spread_cents=60.0,
    concentration=0.1,
    share=0.4,
    alone=False,
    beside=False,
    elsewhere=False,
)
"""A thin sound whose pitch wanders, as a creak's does."""


def test_what_wanders_is_no_string_unless_it_beats_with_a_neighbour() -> None:
    assert UNSTEADY.no_string
    assert not replace(UNSTEADY, beside=True).no_string


def test_what_dies_at_once_is_no_string_beside_another_either() -> None:
    assert replace(UNSTEADY, beside=True, fall_db=20.0).no_string
