"""The least price, against trying out every combination of changes to single bass notes."""

import random
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import product

from coach.fretboard import Fingering, Freedom, Neck, solve
from coach.fretboard.least import Fits, least_price
from coach.fretboard.score import Score
from coach.notation import Arrangement, Line, LineKind, Note
from tests.fretboard.pieces import KEY, arrangement_of, chance_piece

FREEDOM = Freedom(shorten=Fraction(1, 2), raised=Fraction(2), beat=Fraction(1))


def variants(arrangement: Arrangement) -> Iterator[tuple[Fraction, Arrangement]]:
    """Every way to change the bass notes, with its price."""
    choices = [list(_of_note(note, arrangement)) for note in arrangement.bass]
    for chosen in product(*choices):
        notes = [note for _, note in chosen]
        yield sum((p for p, _ in chosen), Fraction(0)), arrangement.with_line(Line.of(LineKind.BASS, notes))


def _of_note(note: Note, arrangement: Arrangement) -> Iterator[tuple[Fraction, Note]]:
    ends = [t for t in arrangement.onsets() if note.onset + 1 <= t < note.end]
    for end, up in product([note.end, *ends], (False, True)):
        price = (note.end - end) / 2 + (2 if up else 0)
        pitch = KEY.spell(note.midi + 12) if up else note.pitch
        yield price, replace(note, duration=end - note.onset, pitch=pitch)


def kept_apart(piece: Arrangement) -> bool:
    """No melody pitch that the bass has, raised or not: unisons are merged, which trying out would miss."""
    melody = {note.midi for note in piece.melody}
    return not melody & {note.midi + up for note in piece.bass for up in (0, 12)} and len(piece.bass) <= 4


def test_no_combination_of_changes_is_cheaper() -> None:
    rng = random.Random(8)
    compared = changed = 0
    while compared < 30:
        piece = chance_piece(rng, 4, low=36, high=79)
        if not kept_apart(piece):
            continue
        found = [price for price, one in variants(piece) if isinstance(solve(one), Fingering)]
        least = least_price(Score.of(piece, FREEDOM), Fits(Neck()))
        assert least.price == min(found, default=None)
        compared += 1
        changed += bool(least.price)
    assert changed > 5


def test_the_fingering_pays_exactly_the_least_price() -> None:
    rng = random.Random(9)
    for _ in range(60):
        piece = chance_piece(rng, 8, low=38, high=77)
        least = least_price(Score.of(piece, FREEDOM), Fits(Neck()))
        answer = solve(piece, freedom=FREEDOM)
        assert (least.price is None) == (not isinstance(answer, Fingering))
        if isinstance(answer, Fingering):
            assert answer.price == least.price
            assert (answer.price == 0) == all(n.note == n.given for n in answer.notes)


def test_giving_up_early_never_changes_an_answer() -> None:
    rng = random.Random(10)
    for _ in range(60):
        score = Score.of(chance_piece(rng, 8, low=38, high=79), FREEDOM)
        exact = least_price(score, Fits(Neck())).price
        for limit in (Fraction(0), Fraction(1), Fraction(4)):
            bounded = least_price(score, Fits(Neck()), at_most=limit).price
            assert bounded == exact if exact is not None and exact <= limit else bounded is None


def test_a_bass_note_is_never_shorter_than_a_beat() -> None:
    melody = [("0", "1", 67), ("1", "1", 71), ("2", "2", 72)]
    piece = arrangement_of(melody, [("0", "4", 43)])
    answer = solve(piece, freedom=replace(FREEDOM, raised=None))
    assert isinstance(answer, Fingering)
    bass = next(note for note in answer.notes if note.line is LineKind.BASS)
    assert bass.note.duration == 1
    assert bass.shortened
    slower = solve(piece, freedom=Freedom(shorten=Fraction(1, 2), beat=Fraction(3, 2)))
    assert not isinstance(slower, Fingering)
