"""All files of one sheet: PDF, a PNG for each page, MusicXML, MIDI."""

from dataclasses import dataclass

from coach.notation.arrangement import Arrangement
from coach.sheet.engrave import engrave
from coach.sheet.fonts import SheetFonts
from coach.sheet.marks import SheetMarks
from coach.sheet.midi_out import write_midi
from coach.sheet.musicxml_out import write_musicxml
from coach.sheet.paper import Paper
from coach.sheet.raster import page_png


@dataclass(frozen=True, slots=True)
class SheetFile:
    """One file: how its name ends (``.pdf``, ``-1.png``), and its bytes."""

    ending: str
    data: bytes


def sheet_files(
    arrangement: Arrangement, marks: SheetMarks | None, fonts: SheetFonts, paper: Paper = Paper.A4
) -> tuple[SheetFile, ...]:
    """Engrave an arrangement and write it down in every form; pages are counted from 1."""
    sheet = engrave(arrangement, marks, fonts, paper)
    return (
        SheetFile(".pdf", sheet.pdf),
        *(SheetFile(f"-{page + 1}.png", page_png(sheet, page)) for page in range(sheet.page_count)),
        SheetFile(".musicxml", write_musicxml(arrangement, marks)),
        SheetFile(".mid", write_midi(arrangement)),
    )
