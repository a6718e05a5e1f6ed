"""A small piece of our own with everything a sheet can show, and its fingering."""

from dataclasses import replace
from fractions import Fraction

from coach.music.key import Key
from coach.music.meter import Meter
from coach.notation import Arrangement, Line, LineKind, Note, Section
from coach.sheet.marks import MarkedNote, SheetMarks

OPEN = {1: 64, 2: 59, 3: 55, 4: 50, 5: 45, 6: 40}
MELODY = (
    ("0", "1/2", 2, 3, 4), ("1/2", "1/2", 1, 2, 1), ("1", "3/2", 1, 3, 4), ("5/2", "1/2", 1, 2, 2),
    ("3", "1", 1, 0, None), ("4", "1", 2, 3, 4), ("7", "5/2", 1, 0, None), ("19/2", "1/2", 2, 3, 4),
    ("11", "1/3", 2, 0, None), ("34/3", "1/3", 2, 1, 1), ("35/3", "1/3", 2, 3, 4), ("13", "3", 3, 2, 2),
)  # fmt: skip
BASS = (("1", "2", 6, 3, 3), ("3", "2", 4, 0, None), ("7", "6", 5, 3, 3), ("13", "3/4", 5, 0, None))


def fingered_piece() -> tuple[Arrangement, SheetMarks]:
    """Four bars and an upbeat: ties, dots, a triplet, rests, two sections."""
    key = Key("G", 0)
    lines = []
    marks = []
    for kind, rows in ((LineKind.MELODY, MELODY), (LineKind.BASS, BASS)):
        notes = []
        for onset, duration, string, fret, finger in rows:
            notes.append(Note(Fraction(onset), Fraction(duration), key.spell(OPEN[string] + fret)))
            hand = "p" if kind is LineKind.BASS else "im"[len(notes) % 2]
            marks.append(MarkedNote(kind, Fraction(onset), string, fret, finger, hand))
        lines.append(Line(kind, tuple(notes)))
    sections = (Section("A", Fraction(0)), Section("B", Fraction(8)))
    tune, bass = lines
    arrangement = Arrangement("Lantern Study", Meter(4, 4), key, 84, tune, bass, Fraction(1), 0, sections)
    return arrangement, SheetMarks(tuple(marks))


def repeated(arrangement: Arrangement, fingering: SheetMarks, times: int) -> tuple[Arrangement, SheetMarks]:
    """The piece so many times in a row, five bars each, with its upbeat before every one."""
    steps = [Fraction(20 * count) for count in range(times)]

    def line(given: Line) -> Line:
        return Line(given.kind, tuple(replace(n, onset=n.onset + step) for step in steps for n in given))

    marks = tuple(replace(m, onset=m.onset + step) for step in steps for m in fingering.notes)
    longer = replace(arrangement, melody=line(arrangement.melody), bass=line(arrangement.bass))
    return longer, replace(fingering, notes=marks)
