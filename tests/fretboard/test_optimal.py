"""The solver against two others: branch and bound, and OR-tools' CP-SAT."""

import math
import random

import pytest

from coach.fretboard import REACHES, Fingering, Wishes, solve
from coach.notation import Arrangement
from tests.fretboard.pieces import arrangement_of, chance_piece
from tests.fretboard.rivals import Problem, branch_and_bound, cp_sat

POINTS_TOLERANCE = 1e-6
"""Rounding of floating-point sums; the smallest cost is a tenth of a point."""
CP_SAT_TOLERANCE = 0.01
"""CP-SAT counts in tenths of a thousandth of a point, a few dozen terms."""


def cost_of(arrangement: Arrangement, reach: str, wishes: Wishes | None = None) -> float:
    answer = solve(arrangement, reach=REACHES[reach], wishes=wishes or Wishes())
    return answer.cost if isinstance(answer, Fingering) else math.inf


@pytest.mark.parametrize("part", range(8))
def test_as_good_as_branch_and_bound(part: int) -> None:
    rng = random.Random(part)
    blocked = 0
    for _ in range(25):
        reach = rng.choice(("starter", "seasoned"))
        piece = chance_piece(rng, rng.choice((2, 3)), high=rng.choice((67, 72, 81)))
        expected = branch_and_bound(Problem.of(piece, reach))
        blocked += expected == math.inf
        assert cost_of(piece, reach) == pytest.approx(expected, abs=POINTS_TOLERANCE), piece
    assert blocked < 25


def test_as_good_as_branch_and_bound_with_a_capo() -> None:
    rng = random.Random(99)
    for _ in range(20):
        piece = chance_piece(rng, 2, low=47, high=77)
        piece = arrangement_of(
            *([(str(n.onset), str(n.duration), n.midi) for n in line] for line in (piece.melody, piece.bass)),
            capo=rng.randint(1, 7),
        )
        expected = branch_and_bound(Problem.of(piece, "seasoned"))
        assert cost_of(piece, "seasoned") == pytest.approx(expected, abs=POINTS_TOLERANCE)


def test_as_good_as_cp_sat() -> None:
    rng = random.Random(7)
    compared = 0
    while compared < 20:
        reach = rng.choice(("starter", "seasoned"))
        piece = chance_piece(rng, rng.choice((4, 6)), high=rng.choice((67, 72, 81)))
        expected = cp_sat(Problem.of(piece, reach))
        if expected is None:
            continue
        compared += 1
        found = cost_of(piece, reach, Wishes(no_barre=True))
        assert found == pytest.approx(expected, abs=CP_SAT_TOLERANCE), piece
