"""Draws on PDF pages from the top down: headings, paragraphs, tables, charts; a new page when one is full."""

import hashlib
import io
from typing import Any, assert_never, cast

from reportlab.lib.colors import HexColor
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.pdfgen.canvas import Canvas

from coach.errors import MissingPartError
from coach.reports.drawing import COLOURS, Box, Chart, Disc, Ink, Label, Path
from coach.reports.words import Table

A4 = (595.28, 841.89)
"""ISO 216, 210 x 297 mm, in points."""
_MARGIN = 42.0
_TEXT_PT = 10.5
_SIGNS = {"–": "-", "—": "-", "…": "...", "’": "'", "‘": "'", "“": '"', "”": '"', "♯": "#", "♭": "b"}


class Pen:
    """A PDF under way.

    Parameters
    ----------
    regular, bold
        Bytes of TrueType fonts, which are embedded.
    """

    def __init__(self, regular: bytes, bold: bytes, title: str) -> None:
        self._regular, self._bold = _font(regular), _font(bold)
        self._out = io.BytesIO()
        # Without a first font of its own the library would name one that is not embedded.
        first: Any = self._regular.fontName
        self._canvas = Canvas(self._out, pagesize=A4, invariant=1, pageCompression=1, initialFontName=first)
        self._canvas.setTitle(title)
        self._canvas.setCreator("Two-Line Coach")
        self._y = A4[1] - _MARGIN

    @property
    def width(self) -> float:
        """Between the margins, in points."""
        return A4[0] - 2 * _MARGIN

    def heading(self, text: str, size: float) -> None:
        """A bold line; it keeps some room below it on the same page."""
        self._room(size * 5)
        self._y -= size * 0.8
        self._lines(text, self._bold, size, self.width)
        self._y -= size * 0.4

    def paragraph(self, text: str) -> None:
        """A paragraph of plain text."""
        self._lines(text, self._regular, _TEXT_PT, self.width)
        self._y -= _TEXT_PT * 0.4

    def table(self, table: Table, shares: tuple[float, ...]) -> None:
        """A table whose columns have these shares of the width."""
        for index, row in enumerate((table.heads, *table.rows)):
            font = self._regular if index else self._bold
            cells = [
                self._wrapped(cell, font, 8.5, share * self.width - 6)
                for cell, share in zip(row, shares, strict=True)
            ]
            height = 11.0 * max(len(cell) for cell in cells) + 3
            self._room(height)
            x = _MARGIN
            for cell, share in zip(cells, shares, strict=True):
                for line, words in enumerate(cell):
                    self._text(x, self._y - 9 - 11 * line, words, font, 8.5)
                x += share * self.width
            self._y -= height
            self._canvas.setStrokeColor(HexColor("#c9c9c9"))
            self._canvas.setLineWidth(0.5)
            self._canvas.line(_MARGIN, self._y, A4[0] - _MARGIN, self._y)
        self._y -= 8

    def chart(self, chart: Chart) -> None:
        """A chart, made smaller where it is too wide or too high for a page."""
        scale = min(1.0, self.width / chart.width, (A4[1] - 2 * _MARGIN) / chart.height)
        self._room(chart.height * scale + 8)
        self._canvas.saveState()
        self._canvas.translate(_MARGIN, self._y)
        self._canvas.scale(scale, scale)
        for shape in chart.shapes:
            self._shape(shape)
        self._canvas.restoreState()
        self._y -= chart.height * scale + 8

    def bytes(self) -> bytes:
        """The finished PDF."""
        self._canvas.showPage()
        self._canvas.save()
        return self._out.getvalue()

    def _room(self, height: float) -> None:
        if self._y - height < _MARGIN:
            self._canvas.showPage()
            self._y = A4[1] - _MARGIN

    def _lines(self, text: str, font: TTFont, size: float, width: float) -> None:
        for line in self._wrapped(text, font, size, width):
            self._room(size * 1.35)
            self._y -= size * 1.35
            self._text(_MARGIN, self._y, line, font, size)

    def _wrapped(self, text: str, font: TTFont, size: float, width: float) -> list[str]:
        lines: list[str] = simpleSplit(_known(text, font), font.fontName, size, width)
        return lines or [""]

    def _text(self, x: float, y: float, text: str, font: TTFont, size: float) -> None:
        self._canvas.setFillColor(HexColor(COLOURS[Ink.TEXT]))
        self._canvas.setFont(font.fontName, size)
        self._canvas.drawString(x, y, text)

    def _shape(self, shape: Disc | Box | Path | Label) -> None:
        canvas = self._canvas
        match shape:
            case Disc():
                self._ink(shape.ink)
                canvas.circle(
                    shape.x, -shape.y, shape.radius, stroke=int(not shape.filled), fill=int(shape.filled)
                )
            case Box():
                self._ink(shape.ink, shape.strength)
                stroke, fill = int(not shape.filled), int(shape.filled)
                canvas.rect(
                    shape.x, -shape.y - shape.height, shape.width, shape.height, stroke=stroke, fill=fill
                )
            case Path():
                self._ink(shape.ink)
                self._path(shape)
            case Label():
                self._label(shape)
            case _:
                assert_never(shape)

    def _ink(self, ink: Ink, strength: float = 1.0) -> None:
        colour = HexColor(COLOURS[ink])
        self._canvas.setStrokeColor(colour)
        self._canvas.setLineWidth(2)
        faded = [1 - strength * (1 - part) for part in (colour.red, colour.green, colour.blue)]
        self._canvas.setFillColorRGB(*faded)

    def _path(self, shape: Path) -> None:
        if not shape.points:
            return
        self._canvas.setDash(*((4, 3) if shape.dashed else ()))
        path = self._canvas.beginPath()
        path.moveTo(shape.points[0][0], -shape.points[0][1])
        for x, y in shape.points[1:]:
            path.lineTo(x, -y)
        if shape.closed:
            path.close()
        self._canvas.drawPath(path, stroke=int(not shape.filled), fill=int(shape.filled))
        self._canvas.setDash()

    def _label(self, shape: Label) -> None:
        text = _known(shape.text, self._regular)
        length = pdfmetrics.stringWidth(text, self._regular.fontName, shape.size)
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[shape.anchor]
        self._text(shape.x - shift * length, -shape.y, text, self._regular, shape.size)


def _known(text: str, font: TTFont) -> str:
    """The text in signs that the font has."""
    glyphs = cast("dict[int, int]", font.face.charToGlyph)
    return "".join(sign if ord(sign) in glyphs or sign.isspace() else _SIGNS.get(sign, "?") for sign in text)


def _font(data: bytes) -> TTFont:
    """A font under a name made of its bytes, so that it is read once a process."""
    name = f"Report-{hashlib.sha256(data).hexdigest()[:12]}"
    if name not in pdfmetrics.getRegisteredFontNames():
        try:
            pdfmetrics.registerFont(TTFont(name, io.BytesIO(data)))
        except TTFError as error:
            raise MissingPartError("A font of the report cannot be read: install the app again.") from error
    return cast("TTFont", pdfmetrics.getFont(name))
