"""Written values, beams and accidentals as notation handbooks ask for them.

Expected spellings are common practice (beats and the middle of a bar of four stay visible, beams show the
beat, an accidental holds to the end of its bar); no single source.
"""

from fractions import Fraction

import pytest

from coach.music.key import Key
from coach.music.meter import Meter
from coach.music.pitch import Pitch
from coach.notation import Arrangement, Line, LineKind, Note
from coach.sheet.accidentals import accidentals
from coach.sheet.bars import Bar, laid_out
from coach.sheet.beams import beams

SHORT = {"whole": "w", "half": "h", "quarter": "q", "eighth": "e", "16th": "s", "32nd": "t"}


def bars(meter: str, *notes: tuple[str, str], pickup: str = "0", key: str = "C") -> tuple[Bar, ...]:
    line = Line(LineKind.MELODY, tuple(Note(Fraction(o), Fraction(d), Pitch("C", 0, 5)) for o, d in notes))
    arrangement = Arrangement("x", Meter.parse(meter), Key.parse(key), 80, line, pickup=Fraction(pickup))
    return laid_out(arrangement)


def shown(bar: Bar) -> str:
    """Values of the melody: ``q.`` dotted, ``(`` rest ``)``, ``~`` tied on, ``3`` in a triplet."""
    words = []
    for symbol in bar.voices[0].symbols:
        word = SHORT[symbol.value.type] + "." * symbol.value.dots + ("3" if symbol.zone else "")
        word = f"({word})" if symbol.note is None else word
        words.append(word + ("~" if symbol.tie_start else ""))
    return " ".join(words)


@pytest.mark.parametrize(
    ("meter", "notes", "expected"),
    [
        ("4/4", [("0", "4")], "w"),
        ("4/4", [("0", "3"), ("3", "1")], "h. q"),
        ("4/4", [("0", "1"), ("1", "2"), ("3", "1")], "q h q"),
        ("4/4", [("0", "3/2"), ("3/2", "3/2"), ("3", "1")], "q. e~ q q"),
        ("4/4", [("0", "1/2"), ("1/2", "1"), ("3/2", "1/2"), ("2", "2")], "e q e h"),
        ("4/4", [("0", "5/2"), ("5/2", "1/2"), ("3", "1")], "h~ e e q"),
        ("3/4", [("0", "3")], "h."),
        ("3/4", [("0", "3/2"), ("3/2", "3/2")], "q. e~ q"),
        ("6/8", [("0", "3")], "h."),
        ("6/8", [("0", "1"), ("1", "1"), ("2", "1")], "q e~ e q"),
        ("6/8", [("0", "3/2"), ("3/2", "1/2"), ("2", "1")], "q. e q"),
        ("4/4", [("0", "3/4"), ("3/4", "1/4"), ("1", "3")], "e. s h."),
        ("2/4", [("1/4", "3/4"), ("1", "1")], "(s) e. q"),
        ("4/4", [("0", "1/3"), ("1/3", "1/3"), ("2/3", "1/3"), ("1", "3")], "e3 e3 e3 h."),
        ("4/4", [("0", "2/3"), ("2/3", "1/3"), ("1", "3")], "q3 e3 h."),
        ("4/4", [("0", "2/3"), ("2/3", "2/3"), ("4/3", "2/3"), ("2", "2")], "q3 q3 q3 h"),
        ("2/4", [("0", "1/6"), ("1/6", "1/6"), ("1/3", "1/6"), ("1/2", "3/2")], "s3 s3 s3 q."),
        ("2/4", [("0", "1/3"), ("2/3", "1/3"), ("1", "1")], "e3 (e3) e3 q"),
    ],
)
def test_values_show_the_beat(meter: str, notes: list[tuple[str, str]], expected: str) -> None:
    assert shown(bars(meter, *notes)[0]) == expected


def test_ties_lead_over_the_bar_and_rests_fill_the_last_one() -> None:
    first, second = bars("4/4", ("3", "2"))
    assert shown(first) == "(h.) q~"
    assert shown(second) == "q (h.)"


def test_an_upbeat_of_two_triplet_eighths() -> None:
    upbeat, first = bars("4/4", ("0", "1/3"), ("1/3", "1/3"), ("2/3", "4"), pickup="2/3")
    assert (upbeat.number, shown(upbeat), shown(first)) == (0, "e3 e3", "w")


def test_beams_join_within_the_beat() -> None:
    notes = [("0", "1/2"), ("1/2", "1/4"), ("3/4", "1/4"), ("1", "3/4"), ("7/4", "1/4"), ("2", "1/2")]
    voice = bars("4/4", *notes)[0].voices[0]
    assert beams(voice.symbols, Meter(4, 4))[:6] == (
        ("begin",), ("continue", "begin"), ("end", "end"), ("begin",), ("end", "backward hook"), (),
    )  # fmt: skip


def test_a_rest_breaks_a_beam() -> None:
    voice = bars("6/8", ("0", "1/2"), ("1", "1/2"))[0].voices[0]
    assert set(beams(voice.symbols, Meter(6, 8))) == {()}


def test_accidentals_hold_for_the_bar_and_for_both_voices() -> None:
    def line(kind: LineKind, *notes: tuple[int, str]) -> Line:
        return Line(kind, tuple(Note(Fraction(o), Fraction(1), Pitch.parse(n)) for o, n in notes))

    arrangement = Arrangement(
        "x",
        Meter(4, 4),
        Key("G", 0),
        80,
        line(LineKind.MELODY, (0, "F#4"), (1, "F4"), (2, "F4"), (3, "F#4"), (4, "F4")),
        line(LineKind.BASS, (0, "C3"), (2, "F4"), (3, "C#3"), (4, "C3")),
    )
    first, second = laid_out(arrangement)
    beat = 48
    assert accidentals(first.voices, arrangement.key) == {
        (LineKind.MELODY, beat): "natural",
        (LineKind.MELODY, 3 * beat): "sharp",
        (LineKind.BASS, 3 * beat): "sharp",
    }
    assert accidentals(second.voices, arrangement.key) == {(LineKind.MELODY, 0): "natural"}
