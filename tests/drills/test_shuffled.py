"""Drills from the piece never give its tune away."""

from itertools import pairwise
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.drills.context import DrillContext
from coach.drills.kinds import By, Kind
from coach.drills.making import make_prompt
from coach.drills.shuffled import gives_away, shuffled_moves
from coach.pieces.bundled import load_bundled
from tests.drill_answers import all_drills

PIECES = sorted((Path(__file__).parents[2] / "exercises" / "pieces").glob("*.toml"))
DRILL = next(drill for drill in all_drills() if drill.kind is Kind.PIECE_MOVES)


def _random_melody(seed: int) -> tuple[int, ...]:
    rng = Random(seed)
    scale = (0, 2, 4, 5, 7, 9, 11)
    place, out = 14, []
    for _ in range(rng.randint(4, 40)):
        place = min(22, max(7, place + rng.choice((-3, -2, -1, -1, 0, 1, 1, 2, 3, 4, -4))))
        out.append(48 + 12 * (place // 7 - 2) + scale[place % 7] + 12)
    return tuple(out)


def _bundled() -> list[tuple[int, ...]]:
    return [tuple(note.midi for note in load_bundled(path.read_bytes(), path.name).melody) for path in PIECES]


MELODIES = [*_bundled(), *(_random_melody(seed) for seed in range(200))]


def _intervals(midis: tuple[int, ...]) -> list[int]:
    return [b - a for a, b in pairwise(midis)]


def _telling(tune: list[int]) -> set[tuple[int, ...]]:
    """All three consecutive intervals of a tune but runs of a scale and repeated notes; written anew here."""
    found = set()
    for i in range(len(tune) - 2):
        run = tuple(tune[i : i + 3])
        scale_up = all(move in {1, 2} for move in run)
        scale_down = all(move in {-1, -2} for move in run)
        if 0 not in run and not scale_up and not scale_down:
            found.add(run)
    return found


@pytest.mark.parametrize("number", range(len(MELODIES)))
def test_no_three_consecutive_intervals_of_the_tune(number: int) -> None:
    tune = MELODIES[number]
    telling = _telling(_intervals(tune))
    context = DrillContext(melody=tune)
    own = set(pairwise(tune))
    other_keys = 0
    for seed in range(12):
        for skill in DRILL.skills():
            prompt = make_prompt(DRILL, 1 + seed % 5, Random(seed), context, by=By(skill.by), skill=skill)
            moves = _intervals(prompt.midis)
            assert not telling & {tuple(moves[i : i + 3]) for i in range(len(moves) - 2)}
            assert set(moves) <= set(_intervals(tune))
            other_keys += not own & set(pairwise(prompt.midis))
    assert other_keys >= 0.9 * 12 * len(DRILL.skills())


@given(st.lists(st.integers(40, 80), min_size=2, max_size=30), st.integers(1, 8), st.integers(0, 10_000))
def test_any_tune_at_any_length(tune: list[int], count: int, seed: int) -> None:
    moves = shuffled_moves(tune, count, Random(seed), widest=60)
    assert 1 <= len(moves) <= count
    assert not gives_away(moves, tune)


def test_a_scale_or_repeated_notes_of_the_tune_are_not_followed_where_there_is_another_way() -> None:
    tune = (60, 60, 64, 67, 67, 65, 64, 62, 60, 69)
    known = {(4, 3, -2), (-2, -1, -2), (-1, -2, -2), (-2, -2, 9)}
    followed = {shuffled_moves(tune, 3, Random(seed)) for seed in range(200)} & known
    assert not followed
    assert shuffled_moves((60, 62, 64, 65), 3, Random(1)) != (2, 2, 1)
    assert shuffled_moves((60, 62, 64, 66), 3, Random(1)) == (2, 2, 2)


def test_runs_of_a_scale_and_repeated_notes_give_nothing_away() -> None:
    assert not gives_away((2, 2, 1), (60, 62, 64, 65, 60))
    assert not gives_away((0, 4, 3), (60, 60, 64, 67, 60))
    assert gives_away((4, 3, -7), (60, 64, 67, 60))
