"""Charts as inline SVG."""

from html import escape
from typing import assert_never

from coach.reports.drawing import COLOURS, Box, Chart, Disc, Ink, Label, Path, Shape


def svg(chart: Chart) -> str:
    """An ``svg`` element to stand inside an HTML page, with its words for who cannot see it."""
    body = "".join(_shape(shape) for shape in chart.shapes)
    return (
        f'<svg role="img" width="{_number(chart.width)}" height="{_number(chart.height)}" '
        f'viewBox="0 0 {_number(chart.width)} {_number(chart.height)}">'
        f"<title>{escape(chart.said)}</title>{body}</svg>"
    )


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _paint(ink: Ink, *, filled: bool, strength: float = 1.0) -> str:
    colour = COLOURS[ink]
    if not filled:
        return f'fill="none" stroke="{colour}" stroke-width="2"'
    faded = "" if strength >= 1 else f' fill-opacity="{_number(strength)}"'
    return f'fill="{colour}"{faded}'


def _shape(shape: Shape) -> str:
    match shape:
        case Disc():
            place = f'cx="{_number(shape.x)}" cy="{_number(shape.y)}" r="{_number(shape.radius)}"'
            return f"<circle {place} {_paint(shape.ink, filled=shape.filled)}/>"
        case Box():
            place = f'x="{_number(shape.x)}" y="{_number(shape.y)}"'
            size = f'width="{_number(shape.width)}" height="{_number(shape.height)}"'
            return f"<rect {place} {size} {_paint(shape.ink, filled=shape.filled, strength=shape.strength)}/>"
        case Path():
            return _path(shape)
        case Label():
            place = f'x="{_number(shape.x)}" y="{_number(shape.y)}" font-size="{_number(shape.size)}"'
            paint = f'text-anchor="{shape.anchor}" fill="{COLOURS[Ink.TEXT]}"'
            return f"<text {place} {paint}>{escape(shape.text)}</text>"
    assert_never(shape)


def _path(path: Path) -> str:
    points = " ".join(f"{_number(x)},{_number(y)}" for x, y in path.points)
    dashes = ' stroke-dasharray="4 3"' if path.dashed else ""
    kind = "polygon" if path.closed else "polyline"
    return f'<{kind} points="{points}" {_paint(path.ink, filled=path.filled)}{dashes}/>'
