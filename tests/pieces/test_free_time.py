"""Order, long and short: what is made of a recording without beats, and the simple rhythm that follows."""

from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.music import BeatGrid, Key, Meter, PerformedNote, Span
from coach.notation import Line, LineKind, Note
from coach.pieces.free_time import LONG, SHORT, STEP, free_notes, long_or_short, simple_rhythm

KEY, METER = Key("C", 0), Meter(4, 4)
SECONDS = BeatGrid((Fraction(0), Fraction(1)), (0.0, 1.0))


def heard(starts_s: list[float], lengths_s: list[float]) -> list[PerformedNote]:
    return [
        PerformedNote(Span(at, at + length), 60 + i % 5, 0.0, 0.9, 60 + i % 5, at + 0.07)
        for i, (at, length) in enumerate(zip(starts_s, lengths_s, strict=True))
    ]


def line(kind: LineKind, *notes: tuple[str, str, bool]) -> Line:
    pitch = KEY.spell(64 if kind is LineKind.MELODY else 45)
    return Line(kind, tuple(Note(Fraction(a), Fraction(d), pitch, long=is_long) for a, d, is_long in notes))


@pytest.mark.parametrize("pace", [0.5, 1.0, 2.0])
def test_two_kinds_of_lengths_are_told_apart_at_any_pace(pace: float) -> None:
    """Lengths of 2 and 1, each off by up to a sixth, as free singing may be (our own choice)."""
    rng = Random(3)
    meant = [rng.random() < 0.4 for _ in range(40)]
    lengths = [(2.0 if is_long else 1.0) * pace * rng.uniform(0.85, 1.17) for is_long in meant]
    assert long_or_short(lengths) == meant


def test_notes_that_are_alike_are_all_short() -> None:
    assert long_or_short([1.0, 1.1, 0.95, 1.2]) == [False] * 4
    assert long_or_short([]) == []
    assert long_or_short([3.0]) == [False]


def test_heard_notes_keep_their_order_and_lie_where_they_were_heard() -> None:
    starts = [0.31, 1.42, 1.98, 2.51, 5.2]
    found = free_notes(heard(starts, [1.0, 0.5, 0.5, 1.1, 0.5]), SECONDS, KEY)
    assert [note.long for note in found] == [True, False, False, True, False]
    for note, start_s in zip(found, starts, strict=True):
        assert abs(float(note.onset) - start_s) <= float(STEP) / 2
    assert found[3].duration == Fraction(9, 8)  # a rest follows: what it sounds, not the way to the next


@given(st.lists(st.floats(0.06, 2.0), min_size=1, max_size=20))
def test_heard_notes_never_overlap(ways_s: list[float]) -> None:
    starts = [sum(ways_s[:i]) for i in range(len(ways_s))]
    found = free_notes(heard(starts, [max(0.06, way - 0.01) for way in ways_s]), SECONDS, KEY)
    assert len(Line.of(LineKind.MELODY, found)) == len(ways_s)  # a line refuses overlap


def test_long_notes_get_two_beats_and_the_bass_comes_under_its_note() -> None:
    tune = line(
        LineKind.MELODY, ("1/4", "1", True), ("5/4", "1/2", False), ("7/4", "1/2", False), ("3", "2", True)
    )
    bass = line(LineKind.BASS, ("1/4", "1/2", False), ("3/4", "1/2", False), ("25/8", "1", False))
    made = simple_rhythm(tune, bass, Fraction(0), METER)
    assert [(n.onset, n.duration) for n in made.melody] == [(0, LONG), (2, SHORT), (3, SHORT), (4, LONG)]
    assert [(n.onset, n.duration) for n in made.bass] == [(0, 1), (1, 3), (4, 2)]
    assert made.end == 8  # a full bar
    assert all(note.long is None for note in (*made.melody, *made.bass))
    assert made.anchors == (
        (Fraction(0), Fraction(1, 4)),
        (Fraction(1), Fraction(3, 4)),
        (Fraction(2), Fraction(5, 4)),
        (Fraction(3), Fraction(7, 4)),
        (Fraction(4), Fraction(3)),
    )


@given(st.data())
def test_no_note_is_lost_on_the_way_into_beats(data: st.DataObject) -> None:
    def some(kind: LineKind, least: int) -> Line:
        steps = data.draw(st.lists(st.integers(1, 16), min_size=least, max_size=12))
        onsets = [Fraction(sum(steps[: i + 1]), 8) for i in range(len(steps))]
        longs = data.draw(st.lists(st.booleans(), min_size=len(steps), max_size=len(steps)))
        return line(kind, *((str(at), "1/8", is_long) for at, is_long in zip(onsets, longs, strict=True)))

    tune, bass = some(LineKind.MELODY, 1), some(LineKind.BASS, 0)
    made = simple_rhythm(tune, bass, Fraction(8), METER)
    assert [n.midi for n in made.melody] == [n.midi for n in tune]
    assert [n.midi for n in made.bass] == [n.midi for n in bass]
    assert [n.duration for n in made.melody] == [LONG if n.long else SHORT for n in tune]
    assert all(n.onset >= 8 and n.end <= made.end for n in (*made.melody, *made.bass))
    assert (made.end - 8) % METER.bar == 0
    before = [old for _, old in made.anchors]
    assert before == sorted(set(before))
