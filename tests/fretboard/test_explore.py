import math
import random
from itertools import product

import pytest

from coach.fretboard import (
    Blocked,
    Explorer,
    Fingering,
    Neck,
    NoteId,
    NoteWish,
    Wishes,
    chosen_places,
    difficulty,
    hardest_bar,
    solve,
)
from coach.notation import Arrangement, Line, LineKind, Place
from tests.fretboard.pieces import arrangement_of, chance_piece

POINTS_TOLERANCE = 1e-6
"""Rounding of floating-point sums."""


def playable_piece(rng: random.Random, beats: int) -> Arrangement:
    while True:
        piece = chance_piece(rng, beats, high=72)
        if len(piece.melody) and len(piece.bass) and isinstance(solve(piece), Fingering):
            return piece


def names(piece: Arrangement) -> list[NoteId]:
    return [NoteId(line.kind, index) for line in piece.lines for index in range(len(line))]


def test_moving_a_note_costs_what_was_announced() -> None:
    rng = random.Random(1)
    for _ in range(10):
        explorer = Explorer.on(Neck(), playable_piece(rng, 8))
        name = rng.choice(names(explorer.arrangement))
        options = explorer.options(name)
        assert min(option.extra for option in options if option.extra is not None) == pytest.approx(0.0)
        for option in options:
            moved = explorer.wish(NoteWish(name, option.place))
            answer = moved.answer()
            if option.extra is None:
                assert isinstance(answer, Blocked)
                assert option.why_not is not None
            else:
                assert isinstance(answer, Fingering)
                assert answer.at(name).place == option.place
                assert moved.cost - explorer.cost == pytest.approx(option.extra, abs=POINTS_TOLERANCE)


def test_solving_on_is_the_same_as_solving_anew() -> None:
    rng = random.Random(2)
    for _ in range(10):
        piece = playable_piece(rng, 12)
        explorer = Explorer.on(Neck(), piece)
        note = rng.choice(piece.melody.notes)
        up = Line.of(
            LineKind.MELODY,
            (
                n if n != note else type(n)(n.onset, n.duration, piece.key.spell(n.midi + 2))
                for n in piece.melody
            ),
        )
        changed = explorer.rewritten(piece.with_line(up))
        anew = solve(piece.with_line(up))
        assert changed.cost == pytest.approx(anew.cost if isinstance(anew, Fingering) else math.inf)
        back = changed.rewritten(piece)
        assert back.cost == pytest.approx(explorer.cost)


def test_wishes_are_kept_exactly() -> None:
    rng = random.Random(3)
    piece = playable_piece(rng, 8)
    for below, barre in product((4, 6), (True, False)):
        answer = solve(piece, wishes=Wishes(below_fret=below, no_barre=barre))
        if isinstance(answer, Fingering):
            assert answer.highest_fret < below
            assert not (barre and any(hand.barre for hand in answer.hand))
    name = NoteId(LineKind.MELODY, 0)
    for finger in (1, 2, 3, 4):
        answer = solve(piece, wishes=Wishes(notes=(NoteWish(name, finger=finger),)))
        if isinstance(answer, Fingering):
            assert answer.at(name).finger == finger


def test_places_that_notes_carry_become_wishes() -> None:
    piece = arrangement_of([("0", "1", 64)], [])
    placed = piece.with_line(
        Line.of(LineKind.MELODY, [type(n)(n.onset, n.duration, n.pitch, Place(2, 5)) for n in piece.melody])
    )
    answer = solve(placed, wishes=chosen_places(placed))
    assert isinstance(answer, Fingering)
    assert answer.notes[0].place == Place(2, 5)


def test_the_few_best_are_the_best() -> None:
    rng = random.Random(4)
    for _ in range(2):
        piece = playable_piece(rng, 2)
        explorer = Explorer.on(Neck(), piece)
        few = explorer.best(6)
        assert len({fingering.visible for fingering in few}) == len(few)
        costs = [fingering.cost for fingering in few]
        assert costs == sorted(costs)
        assert costs[0] == pytest.approx(explorer.cost)
        # Every combination of places and fingers, each solved on its own.
        every = sorted(_all_costs(explorer))
        assert costs == pytest.approx(every[: len(costs)], abs=POINTS_TOLERANCE)
        assert len(few) == min(6, len(every))


def _all_costs(explorer: Explorer) -> list[float]:
    piece = explorer.arrangement
    neck = explorer.tables.neck
    choices = []
    for name in names(piece):
        midi = piece.line(name.line).notes[name.index].midi
        choices.append([NoteWish(name, Place(s.string, s.fret), s.finger) for s in neck.stops(midi)])
    found = []

    def grow(at: Explorer, rest: list[list[NoteWish]]) -> None:
        if at.cost == math.inf:
            return
        if not rest:
            found.append(at.cost)
            return
        for wish in rest[0]:
            grow(at.wish(wish), rest[1:])

    grow(explorer, choices)
    # A unison gives the same fingering once for each of its notes' wishes; they agree or are infinite.
    return found


def test_misuse_is_a_value_error() -> None:
    explorer = Explorer.on(Neck(), arrangement_of([("0", "1", 64)], []))
    with pytest.raises(ValueError, match="no such note"):
        explorer.options(NoteId(LineKind.BASS, 0))
    with pytest.raises(ValueError, match="at least one"):
        explorer.best(0)


def test_an_unplayable_piece_can_be_explored() -> None:
    explorer = Explorer.on(Neck(), arrangement_of([("0", "1", 71)], [("0", "1", 43)]))
    assert explorer.best(3) == ()
    assert isinstance(explorer.answer(), Blocked)
    assert all(option.extra is None for option in explorer.options(NoteId(LineKind.MELODY, 0)))


def test_bars_add_up_and_the_hardest_is_found() -> None:
    piece = playable_piece(random.Random(6), 16)
    answer = solve(piece)
    assert isinstance(answer, Fingering)
    bars = difficulty(answer, piece)
    assert sum(bar.points for bar in bars) == pytest.approx(answer.cost, abs=0.01 * len(bars))
    assert hardest_bar(answer, piece) == max(bars, key=lambda bar: bar.points)
    assert {bar.word for bar in bars} <= {"easy", "some work", "hard"}
    nothing = solve(arrangement_of([], []))
    assert isinstance(nothing, Fingering)
    assert hardest_bar(nothing, piece) is None


def test_what_makes_a_bar_hard_is_said() -> None:
    piece = arrangement_of([("0", "1", 65), ("1", "1", 69), ("2", "2", 74)], [("0", "4", 41)])
    answer = solve(piece, wishes=Wishes(notes=(NoteWish(NoteId(LineKind.MELODY, 0), Place(1, 1)),)))
    assert isinstance(answer, Blocked | Fingering)
    if isinstance(answer, Fingering):
        (bar,) = difficulty(answer, piece)
        assert bar.reasons
