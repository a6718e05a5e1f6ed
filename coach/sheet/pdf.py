"""Pages of shapes and words as a PDF with embedded fonts."""

import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from coach.errors import MissingPartError
from coach.sheet.fonts import SheetFonts
from coach.sheet.shapes import Page, Segment, Shape, TextRun, Words

_PLAIN_SIGNS = {"♯": "#", "♭": "b", "♮": "", "…": "...", "’": "'", "“": '"', "”": '"', "–": "-", "—": "-"}
"""What is written where the font lacks a sign."""
_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
_SHRINKS_TO = 0.9
"""Words that are wider than this share of the page are set smaller."""


def write_pdf(pages: Sequence[Page], fonts: SheetFonts, title: str) -> bytes:
    """A PDF of the pages; the same pages give the same bytes."""
    family = _Family.of(fonts)
    out = io.BytesIO()
    width, height = (pages[0].width, pages[0].height)
    # Without a first font of its own the library would name one that is not embedded.
    first_font: Any = family.regular.fontName
    canvas = Canvas(out, pagesize=(width, height), invariant=1, pageCompression=1, initialFontName=first_font)
    canvas.setTitle(title)
    canvas.setCreator("Two-Line Coach")
    canvas.setSubject("Arrangement for one guitar")
    for page in pages:
        _Pen(canvas, family, page).draw()
        canvas.showPage()
    canvas.save()
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class _Family:
    """The four fonts as the PDF library knows them."""

    regular: TTFont
    bold: TTFont
    italic: TTFont
    bold_italic: TTFont

    @classmethod
    def of(cls, fonts: SheetFonts) -> "_Family":
        return cls(*(_registered(d) for d in (fonts.regular, fonts.bold, fonts.italic, fonts.bold_italic)))

    def font(self, run: TextRun) -> TTFont:
        if run.bold:
            return self.bold_italic if run.italic else self.bold
        return self.italic if run.italic else self.regular


def _registered(data: bytes) -> TTFont:
    """A font under a name made of its bytes, so that it is read once a process."""
    name = f"Sheet-{hashlib.sha256(data).hexdigest()[:12]}"
    if name not in pdfmetrics.getRegisteredFontNames():
        try:
            pdfmetrics.registerFont(TTFont(name, io.BytesIO(data)))
        except TTFError as error:
            raise MissingPartError("A font of the sheet cannot be read: install the app again.") from error
    return cast("TTFont", pdfmetrics.getFont(name))


@dataclass(frozen=True, slots=True)
class _Pen:
    """Draws one page; PDF's y goes up, ours down."""

    canvas: Canvas
    family: _Family
    page: Page

    def draw(self) -> None:
        for item in self.page.items:
            match item:
                case Shape():
                    self._shape(item)
                case Words():
                    self._words(item)

    def _shape(self, shape: Shape) -> None:
        path = self.canvas.beginPath()
        for segment in shape.segments:
            self._segment(path, segment)
        if shape.stroke is not None:
            self.canvas.setLineWidth(shape.stroke)
            self.canvas.setLineCap(1 if shape.round_ends else 0)
        self.canvas.drawPath(path, fill=int(shape.fill), stroke=int(shape.stroke is not None))

    def _segment(self, path: PDFPathObject, segment: Segment) -> None:
        points = [(x, self.page.height - y) for x, y in segment.points]
        match segment.kind:
            case "M":
                path.moveTo(*points[0])
            case "L":
                path.lineTo(*points[0])
            case "C":
                path.curveTo(*points[0], *points[1], *points[2])
            case _:
                path.close()

    def _words(self, words: Words) -> None:
        texts = [_supported(run.text, self.family.font(run)) for run in words.runs]
        widths = [
            self.family.font(run).stringWidth(text, run.size)
            for run, text in zip(words.runs, texts, strict=True)
        ]
        shrink = min(1.0, _SHRINKS_TO * self.page.width / max(sum(widths), 1e-6))
        x, y = words.at
        x -= _ANCHORS[words.anchor] * sum(widths) * shrink
        for run, text, width in zip(words.runs, texts, widths, strict=True):
            self.canvas.setFont(self.family.font(run).fontName, run.size * shrink)
            self.canvas.drawString(x, self.page.height - y, text)
            x += width * shrink


def _supported(text: str, font: TTFont) -> str:
    """Text with the signs that the font lacks replaced by plain ones, or by a question mark."""
    known = font.face.charToGlyph
    return "".join(sign if ord(sign) in known else _PLAIN_SIGNS.get(sign, "?") for sign in text)
