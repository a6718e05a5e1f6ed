"""The staircase: its rule, and where it settles."""

from random import Random

import pytest

from coach.practice.staircase import Staircase
from tests.ear_learners import TARGET, answers_right, settled_level, staircase

SETTLED_SHARE = 0.90
LEVITT_1971 = 0.794
"""Convergence of three right, one wrong: Levitt 1971, table I."""


def test_three_right_are_harder_and_one_wrong_is_easier() -> None:
    stairs = Staircase(4, missed=True)
    for _ in range(2):
        stairs = stairs.after(right=True, most=8)
        assert stairs.level == 4
    stairs = stairs.after(right=True, most=8)
    assert (stairs.level, stairs.in_a_row) == (5, 0)
    stairs = stairs.after(right=True, most=8).after(right=False, most=8)
    assert (stairs.level, stairs.in_a_row) == (4, 0)


def test_before_the_first_miss_every_right_answer_is_harder() -> None:
    stairs = Staircase()
    for _ in range(3):
        stairs = stairs.after(right=True, most=8)
    assert stairs.level == 4


def test_it_stays_between_the_easiest_and_the_hardest() -> None:
    assert Staircase(1).after(right=False, most=8).level == 1
    assert Staircase(8).after(right=True, most=8).level == 8


def test_the_target_is_levitts() -> None:
    assert pytest.approx(LEVITT_1971, abs=0.0005) == TARGET


def test_it_converges_on_levitts_share_of_right_answers() -> None:
    # On a fine ladder a step hardly changes the chance of a right answer: the share right is the target.
    rng, stairs, right_answers, trials = Random(5), Staircase(300, missed=True), 0, 40_000
    for _ in range(trials):
        right = answers_right(rng, stairs.level, 300, slope=0.02)
        right_answers += right
        stairs = stairs.after(right=right, most=600)
    assert right_answers / trials == pytest.approx(LEVITT_1971, abs=0.01)


def test_it_settles_within_one_level_for_nearly_all_learners() -> None:
    assert staircase(200) >= SETTLED_SHARE


def test_one_learner_is_found_from_both_sides() -> None:
    assert abs(settled_level(Random(1), 4, 1, trials=200) - 4) <= 1
    assert abs(settled_level(Random(1), 4, 7, trials=200) - 4) <= 1
