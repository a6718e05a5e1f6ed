"""What we write on a page ourselves: title, tempo, capo, tuning, legend, page number."""

from coach.music.pitch import Pitch
from coach.music.tuning_system import STANDARD_STRINGS
from coach.notation.arrangement import Arrangement
from coach.sheet.engraver import MARGIN_MM
from coach.sheet.marks import SheetMarks
from coach.sheet.paper import POINTS_PER_MM
from coach.sheet.shapes import Item, Page, Segment, Shape, TextRun, Words, ellipse, polygon

_MARGIN = MARGIN_MM * POINTS_PER_MM
_TITLE_SIZE, _TEXT_SIZE, _SMALL_SIZE = 20.0, 10.0, 8.0
"""Of letters, in points; so are all lengths here."""
_TITLE_DOWN, _TEXT_DOWN, _FOOT_UP = 26.0, 46.0, 22.0
"""Base lines of title and directions below half the margin, and of the foot above the page's end."""
_MARK = 2.6
"""Half the width of the legend's circle and square, in points."""


def title_items(
    arrangement: Arrangement, marks: SheetMarks | None, page: Page, *, titled: bool = True
) -> tuple[Item, ...]:
    """The head of the first page; capo and tuning alone where it shall have no title."""
    down = _MARGIN / 2 + _TITLE_DOWN
    title = Words((page.width / 2, down), "middle", (TextRun(arrangement.title, _TITLE_SIZE, bold=True),))
    base = _MARGIN / 2 + _TEXT_DOWN
    tempo = Words((_MARGIN + 9, base), "start", (TextRun(f"= {round(arrangement.tempo_bpm)}", _TEXT_SIZE),))
    items: list[Item] = [title, *_quarter_note(_MARGIN + 3, base), tempo] if titled else []
    directions = _directions(arrangement, marks)
    if directions:
        items.append(Words((page.width - _MARGIN, base), "end", (TextRun(directions, _TEXT_SIZE),)))
    return tuple(items)


def foot_items(number: int, count: int, page: Page, *, fingers: bool) -> tuple[Item, ...]:
    """The legend and the page number at the foot of a page."""
    base = page.height - _FOOT_UP
    middle = base - _MARK
    melody = _MARGIN + _MARK
    bass = melody + 76
    square = ((bass - _MARK, middle - _MARK), (bass + _MARK, middle - _MARK),
              (bass + _MARK, middle + _MARK), (bass - _MARK, middle + _MARK))  # fmt: skip
    items: list[Item] = [
        Shape(ellipse((melody, middle), _MARK, _MARK), fill=True),
        _small("melody, stems up", melody + 6, base),
        Shape(polygon(square), fill=True),
        _small("bass, stems down", bass + 6, base),
    ]
    if fingers:
        items.append(
            _small(
                "left hand: 1 index, 2 middle, 3 ring, 4 little; right hand: p thumb, i, m, a",
                bass + 84,
                base,
            )
        )
    items.append(Words((page.width - _MARGIN, base), "end", (TextRun(f"{number} / {count}", _SMALL_SIZE),)))
    return tuple(items)


def _small(text: str, x: float, base: float) -> Words:
    return Words((x, base), "start", (TextRun(text, _SMALL_SIZE),))


def _quarter_note(x: float, base: float) -> tuple[Item, ...]:
    """A quarter note as a sign in a line of text."""
    head = Shape(ellipse((x, base - 1.6), 2.4, 1.7), fill=True)
    stem = (Segment("M", ((x + 2.2, base - 2.0),)), Segment("L", ((x + 2.2, base - 9.5),)))
    return (head, Shape(stem, fill=False, stroke=0.7))


def _directions(arrangement: Arrangement, marks: SheetMarks | None) -> str:
    words = []
    if arrangement.capo:
        words.append(f"Capo on fret {arrangement.capo}; notes as they sound, numbers from the capo")
    if marks and marks.tuning != STANDARD_STRINGS:
        names = " ".join(Pitch.from_midi(midi).name.rstrip("-0123456789") for midi in marks.tuning)
        words.append(f"Tuning {names}")
    return "; ".join(words)
