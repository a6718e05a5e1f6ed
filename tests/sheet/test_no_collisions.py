"""No two words on a sheet lie over each other: fingers under low bass notes, letters over the tablature."""

from fractions import Fraction
from itertools import combinations

import pytest

from coach.music import Key, Meter
from coach.notation import Arrangement, Line, LineKind, Note
from coach.sheet.engraver import svg_pages
from coach.sheet.marks import MarkedNote, SheetMarks
from coach.sheet.paper import Paper
from coach.sheet.shapes import Words
from coach.sheet.svg_read import read_svg
from tests.sheet_pieces import OPEN, fingered_piece

WIDE_EM, HIGH_EM = 0.5, 0.6
"""A digit or letter of the sheet is at least so wide and high (from memory; the true ones are larger)."""
Box = tuple[float, float, float, float]


def box_of(words: Words) -> Box:
    size = words.runs[0].size
    width = WIDE_EM * size * sum(len(run.text) for run in words.runs)
    x = words.at[0] - {"start": 0.0, "middle": width / 2, "end": width}[words.anchor]
    return x, words.at[1] - HIGH_EM * size, x + width, words.at[1]


def collisions(arrangement: Arrangement, marks: SheetMarks) -> list[tuple[str, str]]:
    found = []
    for svg in svg_pages(arrangement, marks, Paper.A4):
        page = read_svg(svg, Paper.A4.size_points[0])
        texts = [item for item in page.items if isinstance(item, Words) and item.runs]
        for one, other in combinations(texts, 2):
            (a, b, c, d), (e, f, g, h) = box_of(one), box_of(other)
            if min(c, g) > max(a, e) and min(d, h) > max(b, f):
                found.append((one.runs[0].text, other.runs[0].text))
    return found


def low_piece(fret: int) -> tuple[Arrangement, SheetMarks]:
    """Four bars of quarters over half notes on the lowest string, every note with its fingers."""
    key, lines, marks = Key("D", 0), [], []
    for kind, string, at_fret, length in ((LineKind.MELODY, 2, 3, 1), (LineKind.BASS, 6, fret, 2)):
        onsets = [Fraction(beat) for beat in range(0, 16, length)]
        notes = tuple(Note(at, Fraction(length), key.spell(OPEN[string] + at_fret)) for at in onsets)
        lines.append(Line(kind, notes))
        hand = "p" if kind is LineKind.BASS else "i"
        marks += [MarkedNote(kind, at, string, at_fret, 2, hand) for at in onsets]
    return Arrangement("Low", Meter(4, 4), key, 88, *lines), SheetMarks(tuple(marks))


@pytest.mark.parametrize("fret", [1, 2, 3, 5])
def test_fingers_under_low_bass_notes_stay_clear_of_the_letters(fret: int) -> None:
    assert collisions(*low_piece(fret)) == []


def test_a_piece_of_every_kind_of_value_has_no_words_over_each_other() -> None:
    assert collisions(*fingered_piece()) == []
