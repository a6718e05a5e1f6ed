"""The path data and transforms of SVG 1.1, as far as the engraver writes them."""

import re
from collections.abc import Iterator

from coach.sheet.shapes import Affine, Point, Segment

_TOKEN = re.compile(r"[A-Za-z]|-?[0-9]*\.?[0-9]+(?:e-?[0-9]+)?")
_TRANSFORM = re.compile(r"(\w+)\(([^)]*)\)")
_SEPARATOR = re.compile(r"[ ,]+")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Z": 0}


def numbers(text: str) -> list[float]:
    """The numbers of a list separated by spaces or commas."""
    return [float(word) for word in _SEPARATOR.split(text.strip()) if word]


def transform(text: str | None) -> Affine:
    """A ``transform`` of translations and scalings; ``ValueError`` on any other."""
    result = Affine()
    for kind, arguments in _TRANSFORM.findall(text or ""):
        values = numbers(arguments)
        match kind:
            case "translate":
                step = Affine(e=values[0], f=values[1] if len(values) > 1 else 0.0)
            case "scale":
                step = Affine(a=values[0], d=values[-1])
            case _:
                raise ValueError(f"the engraver wrote an unknown transform: {kind}")
        result = result.then(step)
    return result


def path(data: str) -> tuple[Segment, ...]:
    """The segments of path data (``d``); ``ValueError`` on arcs and quadratic curves, which do not occur."""
    pen = _Pen()
    return tuple(pen.segment(command, values) for command, values in _commands(data))


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    """Commands with their numbers; repeated ones are told apart, moves repeated are lines."""
    tokens = _TOKEN.findall(data)
    place = 0
    command = ""
    while place < len(tokens):
        if tokens[place].isalpha():
            command = tokens[place]
            place += 1
        count = _ARGUMENTS.get(command.upper())
        if count is None or place + count > len(tokens):
            raise ValueError(f"the engraver wrote an unknown path command: {command!r}")
        yield command, [float(token) for token in tokens[place : place + count]]
        place += count
        if command in "Mm":
            command = "L" if command == "M" else "l"
        elif command in "Zz" and place < len(tokens) and not tokens[place].isalpha():
            raise ValueError("the engraver wrote numbers after a closed path")


class _Pen:
    """Where the pen stands while path data is read."""

    def __init__(self) -> None:
        self._at: Point = (0.0, 0.0)
        self._start: Point = (0.0, 0.0)
        self._control: Point | None = None

    def segment(self, command: str, values: list[float]) -> Segment:
        """Draw one command."""
        kind = command.upper()
        if kind == "Z":
            self._at, self._control = self._start, None
            return Segment("Z")
        points = self._points(kind, values, relative=command.islower())
        if kind == "S":
            points = (self._mirrored(), *points)
        self._control = points[1] if kind in "CS" else None
        self._at = points[-1]
        if kind == "M":
            self._start = self._at
        return Segment({"H": "L", "V": "L", "S": "C"}.get(kind, kind), points)

    def _points(self, kind: str, values: list[float], *, relative: bool) -> tuple[Point, ...]:
        x, y = self._at
        dx, dy = self._at if relative else (0.0, 0.0)
        if kind == "H":
            return ((values[0] + dx, y),)
        if kind == "V":
            return ((x, values[0] + dy),)
        pairs = zip(values[::2], values[1::2], strict=True)
        return tuple((px + dx, py + dy) for px, py in pairs)

    def _mirrored(self) -> Point:
        """The first control point of a smooth curve."""
        if self._control is None:
            return self._at
        return (2 * self._at[0] - self._control[0], 2 * self._at[1] - self._control[1])
