"""The engraved sheet, read back by PDFium and by a walk through the PDF's own objects (ISO 32000-1, 9.9)."""

import re
import struct
import zlib
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings

from coach.errors import MissingPartError
from coach.music.tuning_system import STANDARD_STRINGS
from coach.notation import Arrangement, Line, LineKind
from coach.sheet.bars import laid_out, sounding
from coach.sheet.engrave import engrave
from coach.sheet.fonts import SheetFonts
from coach.sheet.marks import SheetMarks
from coach.sheet.musicxml_out import score_tree
from coach.sheet.paper import Paper
from coach.sheet.raster import page_pixels, page_png
from tests.sheet_fonts import sheet_fonts
from tests.sheet_pieces import fingered_piece, repeated
from tests.strategies import arrangements

A4_POINTS = (210 / 25.4 * 72, 297 / 25.4 * 72)
"""ISO 216, 210 x 297 mm."""


def words(pdf: bytes, page: int = 0) -> str:
    document = pypdfium2.PdfDocument(pdf)
    text = document[page].get_textpage().get_text_range()
    document.close()
    return text


def font_objects(pdf: bytes) -> list[bytes]:
    return [body for body in re.findall(rb"obj\s(.*?)endobj", pdf, re.DOTALL) if b"/Type /Font" in body]


def test_all_fonts_are_embedded() -> None:
    arrangement, fingering = fingered_piece()
    pdf = engrave(arrangement, fingering, sheet_fonts()).pdf
    fonts = [body for body in font_objects(pdf) if b"/Type /FontDescriptor" not in body]
    descriptors = [body for body in font_objects(pdf) if b"/Type /FontDescriptor" in body]
    assert fonts
    assert len(fonts) == len(descriptors)
    assert all(b"/FontDescriptor" in body for body in fonts)
    assert all(b"/FontFile2" in body for body in descriptors)
    assert b"Helvetica" not in pdf


def test_the_page_shows_title_tempo_frets_and_both_hands() -> None:
    arrangement, fingering = fingered_piece()
    text = words(engrave(arrangement, fingering, sheet_fonts()).pdf)
    assert "Lantern Study" in text
    assert "= 84" in text
    shown = re.findall(r"(?m)^[0-9]$|\b[0-9]\b", text)
    frets = [str(mark.fret) for mark in fingering.notes]
    fingers = [str(mark.finger) for mark in fingering.notes if mark.finger]
    for digit in "01234":
        assert shown.count(digit) >= (frets + fingers).count(digit)
    assert text.count("p") >= len(arrangement.bass)


def test_a_held_note_has_one_number_on_the_tab_staff() -> None:
    arrangement, fingering = fingered_piece()
    tied = [note for note in arrangement.melody if note.onset == 7]
    alone = replace(arrangement, melody=replace(arrangement.melody, notes=tuple(tied)))
    alone = replace(alone, bass=replace(arrangement.bass, notes=()), sections=(), tempo_bpm=99)
    marks = tuple(mark for mark in fingering.notes if mark.onset == 7)
    text = words(engrave(alone, SheetMarks(marks), sheet_fonts()).pdf)
    assert re.findall(r"\b0\b", text) == ["0"]


def test_capo_and_tuning_stand_at_the_head() -> None:
    arrangement, fingering = fingered_piece()
    lowered = replace(fingering, tuning=(38, *STANDARD_STRINGS[1:]))
    text = words(engrave(replace(arrangement, capo=2), lowered, sheet_fonts()).pdf)
    assert "Capo on fret 2" in text
    assert "Tuning D A D G B E" in text


def test_without_places_there_is_no_tab_staff() -> None:
    arrangement, fingering = fingered_piece()
    plain, fingered = (engrave(arrangement, marks, sheet_fonts()) for marks in (None, fingering))
    assert len(re.findall(r"\b[0-4]\b", words(plain.pdf))) < len(
        re.findall(r"\b[0-4]\b", words(fingered.pdf))
    )


def test_the_same_piece_gives_the_same_bytes() -> None:
    arrangement, fingering = fingered_piece()
    assert engrave(arrangement, fingering, sheet_fonts()) == engrave(arrangement, fingering, sheet_fonts())


@pytest.mark.parametrize("paper", Paper)
def test_long_pieces_go_over_pages_of_the_papers_size(paper: Paper) -> None:
    arrangement, fingering = repeated(*fingered_piece(), times=6)
    sheet = engrave(arrangement, fingering, sheet_fonts(), paper)
    document = pypdfium2.PdfDocument(sheet.pdf)
    assert len(document) == sheet.page_count > 1
    sizes = {A4_POINTS if paper is Paper.A4 else (612.0, 792.0)}  # letter is 8.5 x 11 inches
    assert all(
        document[i].get_size() == pytest.approx(next(iter(sizes)), abs=0.1) for i in range(len(document))
    )
    document.close()
    assert all(
        f"{page + 1} / {sheet.page_count}" in words(sheet.pdf, page) for page in range(sheet.page_count)
    )


def test_nothing_lies_in_the_margin() -> None:
    arrangement, fingering = repeated(*fingered_piece(), times=4)
    sheet = engrave(replace(arrangement, title="word " * 40), fingering, sheet_fonts())
    for page in range(sheet.page_count):
        pixels = page_pixels(sheet, page, 595)
        edge = 10
        border = np.concatenate(
            [
                pixels[:edge].ravel(),
                pixels[-edge:].ravel(),
                pixels[:, :edge].ravel(),
                pixels[:, -edge:].ravel(),
            ]
        )
        assert (border == 255).all()
        assert (pixels < 128).mean() > 0.005


@pytest.mark.parametrize("title", ["<b>&amp;", "♯ ♭ 漢字", "<img src='/etc/passwd'/>", "x" * 200])
def test_titles_are_text_and_nothing_else(title: str) -> None:
    arrangement, fingering = fingered_piece()
    sheet = engrave(replace(arrangement, title=title), fingering, sheet_fonts())
    assert "root:" not in words(sheet.pdf)
    if title.isascii():
        assert title[:4] in words(sheet.pdf)


def test_a_png_page_is_what_the_pixels_are() -> None:
    """PNG read by hand (W3C Recommendation): chunks with right checksums, 8 bit grey, filter 0."""
    arrangement, fingering = fingered_piece()
    sheet = engrave(arrangement, fingering, sheet_fonts())
    data = page_png(sheet, 0, dpi=72)
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    chunks = {}
    place = 8
    while place < len(data):
        (length,) = struct.unpack(">I", data[place : place + 4])
        kind, body = data[place + 4 : place + 8], data[place + 8 : place + 8 + length]
        assert struct.unpack(">I", data[place + 8 + length : place + 12 + length])[0] == zlib.crc32(
            kind + body
        )
        chunks[kind] = body
        place += 12 + length
    width, height, *rest = struct.unpack(">IIBBBBB", chunks[b"IHDR"])
    assert rest == [8, 0, 0, 0, 0]
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), dtype=np.uint8).reshape(height, width + 1)
    assert (rows[:, 0] == 0).all()
    assert (rows[:, 1:] == page_pixels(sheet, 0, width)).all()


def test_no_such_page_is_misuse() -> None:
    sheet = engrave(*fingered_piece(), sheet_fonts())
    with pytest.raises(ValueError, match="no page"):
        page_pixels(sheet, 1, 100)


def test_a_broken_font_is_told() -> None:
    with pytest.raises(MissingPartError):
        engrave(*fingered_piece(), SheetFonts(b"", b"", b"", b""))


@settings(max_examples=25, deadline=None)
@given(arrangements(most=8))
def test_anything_that_can_be_written_can_be_engraved(arrangement: Arrangement) -> None:
    assert engrave(arrangement, None, sheet_fonts()).page_count >= 1


def test_a_section_alone_is_set_without_the_empty_bars_around_it() -> None:
    arrangement, _ = fingered_piece()
    later = Fraction(8)
    part = replace(
        arrangement,
        melody=Line.of(LineKind.MELODY, (n for n in arrangement.melody if n.onset >= later)),
        bass=Line.of(LineKind.BASS, (n for n in arrangement.bass if n.onset >= later)),
    )
    numbers = [bar.number for bar in laid_out(part)]
    kept = [bar.number for bar in sounding(laid_out(part))]
    held = sorted({part.bar_of(n.onset) for line in part.lines for n in line})
    assert numbers[0] == 0
    assert (kept[0], kept[-1]) == (held[0], arrangement.bar_count)
    tree = score_tree(part, None, for_print=True, whole=False)
    assert [bar.get("number") for bar in tree.iter("measure")] == [str(number) for number in kept]
    first = next(tree.iter("measure"))
    assert first.find("attributes/clef/sign") is not None, "the first bar that is left carries clef and key"
