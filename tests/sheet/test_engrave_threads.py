from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction

from coach.music import Key, Meter, Pitch
from coach.notation import Arrangement, Line, LineKind, Note
from coach.sheet.engrave import engrave
from tests.sheet_fonts import sheet_fonts


def test_a_sheet_engraved_on_another_thread_is_the_same() -> None:
    note = Note(Fraction(0), Fraction(4), Pitch.parse("G4"))
    song = Arrangement("Ferry Bell", Meter(4, 4), Key("G", 0), 80.0).with_line(Line(LineKind.MELODY, (note,)))
    here = engrave(song, None, sheet_fonts())
    with ThreadPoolExecutor(1) as pool:
        there = pool.submit(engrave, song, None, sheet_fonts()).result()
    assert there == here
