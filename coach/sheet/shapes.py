"""A page as a short list of shapes and texts: what is left of an engraved page before it is printed."""

from dataclasses import dataclass
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Affine:
    """The map (x, y) → (a·x + c·y + e, b·x + d·y + f), as SVG 1.1 writes it."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def at(self, point: Point) -> Point:
        """Where a point goes."""
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def then(self, inner: "Affine") -> "Affine":
        """This map after an inner one: the map of a child in the space of its parent."""
        return Affine(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    @property
    def scale(self) -> float:
        """How many times longer a horizontal line gets."""
        return abs(self.a)


@dataclass(frozen=True, slots=True)
class Segment:
    """A step of a path: M(ove), L(ine), C(ubic curve with two control points) or Z (close)."""

    kind: str
    points: tuple[Point, ...] = ()

    def mapped(self, affine: Affine) -> "Segment":
        """The segment in another space."""
        return Segment(self.kind, tuple(affine.at(point) for point in self.points))


@dataclass(frozen=True, slots=True)
class Shape:
    """A path, filled black or not, with an outline ``stroke`` points wide or none."""

    segments: tuple[Segment, ...]
    fill: bool
    stroke: float | None = None
    round_ends: bool = False


@dataclass(frozen=True, slots=True)
class TextRun:
    """Text of one size and style; size in points."""

    text: str
    size: float
    bold: bool = False
    italic: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text at its base line; ``anchor`` is start, middle or end."""

    at: Point
    anchor: str
    runs: tuple[TextRun, ...]


Item: TypeAlias = Shape | Words


@dataclass(frozen=True, slots=True)
class Page:
    """One page; all measures in points (1/72 inch), x to the right, y down from the upper left corner."""

    width: float
    height: float
    items: tuple[Item, ...]


def polygon(points: tuple[Point, ...], *, close: bool = True) -> tuple[Segment, ...]:
    """Straight lines through points."""
    first, *rest = points
    steps = [Segment("M", (first,)), *(Segment("L", (point,)) for point in rest)]
    return (*steps, Segment("Z")) if close else tuple(steps)


_ROUND = 0.5522847498
"""Control points of a quarter circle lie at 4/3·(√2 - 1) of the radius."""


def ellipse(centre: Point, rx: float, ry: float) -> tuple[Segment, ...]:
    """An ellipse as four cubic curves."""
    x, y = centre
    kx, ky = _ROUND * rx, _ROUND * ry
    return (
        Segment("M", ((x + rx, y),)),
        Segment("C", ((x + rx, y + ky), (x + kx, y + ry), (x, y + ry))),
        Segment("C", ((x - kx, y + ry), (x - rx, y + ky), (x - rx, y))),
        Segment("C", ((x - rx, y - ky), (x - kx, y - ry), (x, y - ry))),
        Segment("C", ((x + kx, y - ry), (x + rx, y - ky), (x + rx, y))),
        Segment("Z"),
    )
