"""Every answer under the independent checker, whatever the lines."""

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coach.cli.commands.finger import as_value
from coach.fretboard import REACHES, STANDARD, Fingering, Tuning, solve
from coach.notation import Arrangement
from coach.pieces.changes import mend
from tests.fretboard.checker import broken_rules
from tests.fretboard.pieces import arrangement_of, chance_piece
from tests.strategies import two_lines

TUNINGS = ("E2,A2,D3,G3,B3,E4", "D2,A2,D3,G3,B3,E4", "D2,G2,D3,G3,B3,D4", "D2,A2,D3,G3,A3,D4")
"""Common practice: standard, dropped, and two open tunings."""


def checked(arrangement: Arrangement, reach: str, tuning: Tuning = STANDARD, *, changes: bool = True) -> bool:
    mended = mend(arrangement, reach=REACHES[reach], tuning=tuning, changes=changes)
    value = as_value(mended, arrangement, tuning, reach)
    assert broken_rules(value) == []
    given_notes = {(kind.kind, n.onset, n.duration, n.midi) for kind in arrangement.lines for n in kind}
    if mended.as_written:
        assert mended.best is not None
        fingered = {(n.line, n.note.onset, n.note.duration, n.note.midi) for n in mended.best.fingering.notes}
        assert fingered == given_notes
    return bool(value["playable"])


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(two_lines(), st.sampled_from(("starter", "seasoned")), st.sampled_from(TUNINGS))
def test_no_rule_is_broken(arrangement: Arrangement, reach: str, tuning: str) -> None:
    checked(arrangement, reach, Tuning.parse(tuning))


@pytest.mark.parametrize("part", range(4))
def test_no_rule_is_broken_in_longer_pieces(part: int) -> None:
    rng = random.Random(part)
    for _ in range(6):
        piece = chance_piece(rng, 16, high=rng.choice((72, 79)))
        for reach in ("starter", "seasoned"):
            assert checked(piece, reach)
            checked(piece, reach, changes=False)


@pytest.mark.parametrize("capo", [0, 2, 5, 9])
def test_no_rule_is_broken_with_a_capo(capo: int) -> None:
    rng = random.Random(capo)
    for _ in range(5):
        piece = chance_piece(rng, 8, low=45, high=74)
        lines = ([(str(n.onset), str(n.duration), n.midi) for n in line] for line in piece.lines)
        melody, bass = lines
        checked(arrangement_of(melody, bass, capo=capo), "seasoned")


def test_the_checker_finds_what_is_broken() -> None:
    piece = arrangement_of([("0", "1", 67)], [("0", "1", 43)])
    value = as_value(mend(piece), piece, STANDARD, "starter")
    assert broken_rules(value) == []
    melody, bass = ({**note} for note in value["notes"])  # type: ignore[attr-defined]
    for wrong in (
        {**melody, "fret": melody["fret"] + 1},
        {**melody, "string": 6, "fret": 27},
        {**melody, "finger": None},
        {**melody, "finger": 4 if melody["finger"] != 4 else 1, "fret": melody["fret"]},
    ):
        assert broken_rules({**value, "notes": [wrong, bass]})
    assert broken_rules({**value, "hand": [{"onset": "0", "position": 9}]})
    assert broken_rules({**value, "hand": []})
    assert broken_rules({**value, "blocked": [{}]})


def test_a_unison_is_one_note_and_a_repeated_pitch_ends_the_first() -> None:
    piece = arrangement_of([("0", "1", 55), ("1", "1", 52), ("2", "2", 52)], [("0", "2", 55), ("2", "2", 52)])
    answer = solve(piece)
    assert isinstance(answer, Fingering)
    first, second = answer.notes[:2]
    assert first.place == second.place
    crossing = arrangement_of([("0", "4", 55)], [("1", "1", 55), ("2", "2", 43)])
    assert isinstance(solve(crossing), Fingering)
    assert checked(crossing, "starter")


def test_an_empty_arrangement_costs_nothing() -> None:
    answer = solve(arrangement_of([], []))
    assert isinstance(answer, Fingering)
    assert (answer.cost, answer.notes, answer.hand) == (0.0, (), ())


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32), st.sampled_from((-3, -2, 2, 3, 5)))
def test_retuning_all_strings_with_the_notes_changes_nothing(seed: int, semitones: int) -> None:
    piece = chance_piece(random.Random(seed), 6)
    up = arrangement_of(
        *([(str(n.onset), str(n.duration), n.midi + semitones) for n in line] for line in piece.lines)
    )
    low6, low5, low4, low3, low2, low1 = (midi + semitones for midi in STANDARD.strings)
    one, other = solve(piece), solve(up, tuning=Tuning((low6, low5, low4, low3, low2, low1)))
    assert type(one) is type(other)
    if isinstance(one, Fingering) and isinstance(other, Fingering):
        assert one.cost == pytest.approx(other.cost)
        assert [n.place for n in one.notes] == [n.place for n in other.notes]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32))
def test_a_wider_hand_plays_all_that_a_smaller_one_plays(seed: int) -> None:
    piece = chance_piece(random.Random(seed), 6)
    if isinstance(solve(piece, reach=REACHES["starter"]), Fingering):
        assert isinstance(solve(piece, reach=REACHES["seasoned"]), Fingering)
