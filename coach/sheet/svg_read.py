"""From the engraver's SVG to a page of shapes and words.

The engraver's SVG is a narrow subset of SVG 1.1; whatever else turned up would be an error, not a gap on
paper.
"""

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from coach.sheet.marks import RIGHT_HAND
from coach.sheet.shapes import Affine, Item, Page, Point, Shape, TextRun, Words, ellipse, polygon
from coach.sheet.svg_path import numbers, path, transform

_BOLD = frozenset({"fing", "reh", "tempo"})
_ITALIC = frozenset({"dir", "dynam", "mNum"})
_HIDDEN = frozenset({"pgHead", "pgHead2", "pgFoot", "pgFoot2", "placeholder"})
"""Heads and feet of pages are drawn by us; the engraver only leaves room for them."""
_LINK = "{http://www.w3.org/1999/xlink}href"
_RIGHT_HAND_SIZE = 0.62
"""The engraver writes letters on a TAB staff much larger than finger numbers on the other, and"""
_RIGHT_HAND_SHIFT = 0.33
"""too far to the right, by this share of their size. Measured on a page."""


def read_svg(svg: str, width: float) -> Page:
    """A page of the engraver, scaled to ``width`` points; ``ValueError`` on an element that is not known."""
    root = ET.fromstring(svg)  # noqa: S314 - made by the engraver in this process
    _, _, full_width, full_height = numbers(root.get("viewBox", "0 0 1 1"))
    scale = width / full_width
    symbols = {name: element for element in root.iter() if (name := element.get("id"))}
    reader = _Reader(symbols, full_width)
    reader.children(root, _Style(Affine(a=scale, d=scale)))
    return Page(width, full_height * scale, tuple(reader.items))


@dataclass(frozen=True, slots=True)
class _Style:
    """What an element inherits."""

    affine: Affine
    bold: bool = False
    italic: bool = False
    fingers: bool = False


@dataclass(frozen=True, slots=True)
class _Reader:
    symbols: Mapping[str, ET.Element]
    full_width: float
    items: list[Item] = field(default_factory=list)

    def children(self, element: ET.Element, style: _Style) -> None:
        for child in element:
            self.element(child, style)

    def element(self, element: ET.Element, style: _Style) -> None:
        tag = _tag(element)
        classes = frozenset((element.get("class") or "").split())
        if tag in {"defs", "style", "desc", "title"} or classes & _HIDDEN:
            return
        if element.get("visibility") == "hidden":
            return
        style = replace(
            style,
            bold=style.bold or bool(classes & _BOLD),
            italic=style.italic or bool(classes & _ITALIC),
            fingers=style.fingers or "fing" in classes,
        )
        match tag:
            case "svg":
                scale = self.full_width / numbers(element.get("viewBox", "0 0 1 1"))[2]
                inner = style.affine.then(Affine(a=scale, d=scale))
                self.children(element, replace(style, affine=inner))
            case "g":
                inner = style.affine.then(transform(element.get("transform")))
                self.children(element, replace(style, affine=inner))
            case "use":
                symbol = self.symbols[(element.get(_LINK) or element.get("href") or "#").removeprefix("#")]
                inner = style.affine.then(transform(element.get("transform")))
                self.children(symbol, replace(style, affine=inner))
            case "text":
                self._words(element, style)
            case _:
                self.items.append(_shape(tag, element, style.affine))

    def _words(self, element: ET.Element, style: _Style) -> None:
        """Lines of text: a new one begins wherever an inner span has a place of its own."""
        lines: list[tuple[dict[str, str], list[TextRun]]] = []

        def collect(node: ET.Element, inherited: Mapping[str, str]) -> None:
            own = {**inherited, **node.attrib}
            if not lines or "x" in node.attrib:
                lines.append((own, []))
            text = (node.text or "").strip("\n")
            if text.strip():
                lines[-1][1].append(_run(text, own, style))
            for child in node:
                collect(child, own)

        collect(element, {})
        for attributes, runs in lines:
            if runs:
                at = (float(attributes.get("x", "0")), float(attributes.get("y", "0")))
                self.items.append(_placed_words(style.affine.at(at), attributes, runs, style))


def _placed_words(at: Point, attributes: Mapping[str, str], runs: list[TextRun], style: _Style) -> Words:
    text = "".join(run.text for run in runs)
    if style.fingers and text.strip() in RIGHT_HAND:
        at = (at[0] - _RIGHT_HAND_SHIFT * runs[0].size, at[1])
        runs = [replace(run, size=run.size * _RIGHT_HAND_SIZE, bold=False, italic=True) for run in runs]
    return Words(at, attributes.get("text-anchor", "start"), tuple(runs))


def _run(text: str, attributes: Mapping[str, str], style: _Style) -> TextRun:
    size = float(attributes.get("font-size", "0").removesuffix("px")) * style.affine.scale
    return TextRun(
        " ".join(text.split()) if text.strip() else text,
        size,
        style.bold or attributes.get("font-weight") == "bold",
        style.italic or attributes.get("font-style") == "italic",
    )


def _shape(tag: str, element: ET.Element, affine: Affine) -> Shape:
    def value(name: str) -> float:
        return float(element.get(name, "0"))

    hollow = element.get("fill") == "none" or element.get("fill-opacity") == "0"
    match tag:
        case "path":
            segments = path(element.get("d", ""))
            affine = affine.then(transform(element.get("transform")))
            hollow = hollow or len(segments) == 2
        case "polygon" | "polyline":
            values = numbers(element.get("points", ""))
            points = tuple(zip(values[::2], values[1::2], strict=True))
            segments = polygon(points, close=tag == "polygon")
        case "rect":
            x, y, width, height = (value(name) for name in ("x", "y", "width", "height"))
            segments = polygon(((x, y), (x + width, y), (x + width, y + height), (x, y + height)))
        case "ellipse":
            segments = ellipse((value("cx"), value("cy")), value("rx"), value("ry"))
        case _:
            raise ValueError(f"the engraver wrote an unknown element: {tag}")
    stroke = value("stroke-width") * affine.scale
    round_ends = element.get("stroke-linecap") == "round"
    mapped = tuple(segment.mapped(affine) for segment in segments)
    return Shape(mapped, not hollow, stroke or None, round_ends)


def _tag(element: ET.Element) -> str:
    return element.tag.rsplit("}", 1)[-1]
