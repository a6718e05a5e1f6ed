import math
import random
from itertools import combinations

import pytest

from coach.fretboard import REACHES, Blocked, NoteId, NoteWish, Wishes, solve
from coach.notation import Arrangement, Line, LineKind, Place
from tests.fretboard.pieces import arrangement_of, chance_piece
from tests.fretboard.rivals import Problem, branch_and_bound

MM_TOLERANCE = 0.06
"""A conflict tells mm rounded to one decimal place."""


def blocked(arrangement: Arrangement, **how: object) -> Blocked:
    answer = solve(arrangement, **how)  # type: ignore[arg-type]
    assert isinstance(answer, Blocked)
    return answer


def only(arrangement: Arrangement, names: tuple[NoteId, ...]) -> Arrangement:
    for line in arrangement.lines:
        kept = [note for index, note in enumerate(line) if NoteId(line.kind, index) in names]
        arrangement = arrangement.with_line(Line.of(line.kind, kept))
    return arrangement


def test_two_notes_too_far_apart_are_named_with_their_distance() -> None:
    (conflict,) = blocked(arrangement_of([("0", "1", 71)], [("0", "4", 43)])).conflicts
    # B4 on string 1 fret 7 and G2 on string 6 fret 3, by equal temperament.
    distance = 650 * (2 ** (-3 / 12) - 2 ** (-7 / 12))
    assert conflict.mm == pytest.approx(distance, abs=MM_TOLERANCE)
    assert conflict.frets == 4
    assert set(conflict.notes) == {NoteId(LineKind.MELODY, 0), NoteId(LineKind.BASS, 0)}
    assert "113 mm" in conflict.reason
    assert "100 mm at most" in conflict.reason
    assert "B4" in conflict.reason
    assert "bar 1" in conflict.reason


def test_a_note_off_the_neck_is_named() -> None:
    low, high = blocked(arrangement_of([("0", "1", 60), ("1", "1", 90)], [("0", "1", 38)])).conflicts
    assert "2 frets below the lowest string" in low.reason
    assert "14 frets above" in high.reason
    assert (low.mm, low.frets) == (None, None)


def test_two_notes_for_one_string_are_named() -> None:
    (conflict,) = blocked(arrangement_of([("0", "1", 43)], [("0", "1", 41)])).conflicts
    assert "same string" in conflict.reason
    assert conflict.mm is None


def test_a_held_bass_note_that_cannot_serve_two_melody_notes() -> None:
    # Db3 has to leave string 5 to Bb2, and lies too far from D5 elsewhere; with either alone it can be held.
    piece = arrangement_of([("0", "1", 46), ("1", "1", 74)], [("0", "2", 49)])
    (conflict,) = blocked(piece).conflicts
    assert len(conflict.notes) == 3
    assert conflict.onset == 1
    assert "with the strings that the held notes leave" in conflict.reason


@pytest.mark.parametrize("reach", ["starter", "seasoned"])
def test_each_conflict_is_smallest(reach: str) -> None:
    rng = random.Random(11)
    seen = 0
    while seen < 25:
        piece = chance_piece(rng, 4, high=81)
        answer = solve(piece, reach=REACHES[reach])
        if not isinstance(answer, Blocked):
            continue
        seen += 1
        for conflict in answer.conflicts:
            assert branch_and_bound(Problem.of(only(piece, conflict.notes), reach)) == math.inf
            for fewer in combinations(conflict.notes, len(conflict.notes) - 1):
                assert branch_and_bound(Problem.of(only(piece, fewer), reach)) < math.inf


def test_conflicts_come_in_order_and_leave_the_rest_playable() -> None:
    rng = random.Random(4)
    for _ in range(20):
        piece = chance_piece(rng, 16, high=84)
        answer = solve(piece)
        if isinstance(answer, Blocked):
            onsets = [conflict.onset for conflict in answer.conflicts]
            assert onsets
            assert onsets == sorted(onsets)


def test_a_wish_that_cannot_be_kept_is_told_as_such() -> None:
    piece = arrangement_of([("0", "1", 64)], [("0", "1", 43)])
    far = Wishes(notes=(NoteWish(NoteId(LineKind.MELODY, 0), Place(3, 9)),))
    (conflict,) = blocked(piece, wishes=far).conflicts
    assert "what you asked to keep" in conflict.reason
    assert conflict.mm is not None
    wrong = Wishes(notes=(NoteWish(NoteId(LineKind.MELODY, 0), Place(1, 5)),))
    (conflict,) = blocked(piece, wishes=wrong).conflicts
    assert "you asked for" in conflict.reason
