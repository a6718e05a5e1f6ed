from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import LineError
from coach.music import Key, Meter, Pitch
from coach.notation import Arrangement, Line, LineKind, Note, Section
from coach.notation.section import section_name


def note(onset: str, duration: str, name: str) -> Note:
    return Note(Fraction(onset), Fraction(duration), Pitch.parse(name))


NOTES = st.builds(
    lambda onset, duration, midi: Note(Fraction(onset, 4), Fraction(duration, 4), Pitch.from_midi(midi)),
    st.integers(0, 60), st.integers(1, 12), st.integers(40, 76),
)  # fmt: skip
SONG = Arrangement("Lamp at the Ford", Meter(3, 4), Key("G", 0), 84.0, pickup=Fraction(1))


def most_at_once(line: Line) -> int:
    return max((sum(n.onset <= t < n.end for n in line) for t in (n.onset for n in line)), default=0)


@given(st.lists(NOTES, max_size=12))
def test_a_line_never_holds_two_notes_at_once(notes: list[Note]) -> None:
    line = Line(LineKind.MELODY)
    for each in notes:
        line = line.placed(each)
        assert line.at(each.onset) == each
    assert most_at_once(line) <= 1


@given(st.lists(NOTES, min_size=2, max_size=6))
def test_overlap_is_refused_by_construction(notes: list[Note]) -> None:
    ordered = sorted(notes, key=lambda n: n.onset)
    overlaps = any(b.onset < a.end for a, b in pairwise(ordered))
    if overlaps:
        with pytest.raises(LineError, match="one note at a time"):
            Line.of(LineKind.BASS, notes)
    else:
        assert len(Line.of(LineKind.BASS, notes)) == len(notes)


def test_placing_shortens_the_note_before() -> None:
    line = Line.of(LineKind.MELODY, [note("0", "2", "G4")]).placed(note("1", "1", "A4"))
    assert [(n.onset, n.duration, n.midi) for n in line] == [(0, 1, 67), (1, 1, 69)]


def test_a_line_error_names_the_note() -> None:
    with pytest.raises(LineError, match="F#3 at quarter 3/2"):
        Line.of(LineKind.BASS, [note("1", "1", "E3"), note("3/2", "1", "F#3")])


@pytest.mark.parametrize(
    ("onset", "duration"), [("0", "0"), ("0", "-1"), ("-1", "1"), ("1/5", "1"), ("0", "1/32")]
)
def test_notes_with_impossible_times_are_refused(onset: str, duration: str) -> None:
    with pytest.raises(LineError, match="The note G4"):
        note(onset, duration, "G4")


def test_bars_are_counted_from_the_upbeat() -> None:
    song = SONG.with_line(
        Line.of(LineKind.MELODY, [note("0", "1", "D4"), note("1", "3", "G4"), note("4", "2", "B4")])
    )
    assert [song.bar_of(Fraction(t)) for t in ("0", "1", "7/2", "4")] == [0, 1, 1, 2]
    assert song.bar_start(2) == 4
    assert song.bar_count == 2
    assert song.end == 7


def test_lines_may_cross() -> None:
    song = SONG.with_line(Line.of(LineKind.MELODY, [note("0", "1", "E3")]))
    song = song.with_line(Line.of(LineKind.BASS, [note("0", "1", "G3")]))
    assert [n.name if n else None for n in (p.pitch if p else None for p in song.sounding(Fraction(0)))] == [
        "E3",
        "G3",
    ]


def test_a_third_note_cannot_be_expressed() -> None:
    with pytest.raises(ValueError, match="each other's place"):
        replace(SONG, melody=Line(LineKind.BASS))


@pytest.mark.parametrize(
    "change", [{"pickup": Fraction(3)}, {"capo": 10}, {"tempo_bpm": 0.0},
               {"sections": (Section("B", Fraction(4)), Section("A", Fraction(0)))}],
)  # fmt: skip
def test_an_arrangement_out_of_range_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(LineError):
        replace(SONG, **change)  # type: ignore[arg-type]


def test_section_names_go_on_after_z() -> None:
    assert [section_name(i) for i in (0, 1, 25, 26, 27, 51, 52)] == ["A", "B", "Z", "AA", "AB", "AZ", "BA"]
