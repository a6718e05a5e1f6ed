"""A few plain shapes, from which each chart of a report is made once for the screen and for paper."""

from dataclasses import dataclass
from enum import StrEnum


class Ink(StrEnum):
    """What a shape stands for; each form of the report gives it a colour."""

    MELODY = "melody"
    BASS = "bass"
    PLAYED = "played"
    LINE = "line"
    FAINT = "faint"
    TEXT = "text"
    PAPER = "paper"


COLOURS = {
    Ink.MELODY: "#a33b00",
    Ink.BASS: "#00589c",
    Ink.PLAYED: "#1f6b43",
    Ink.LINE: "#4a4a4a",
    Ink.FAINT: "#8a8a8a",
    Ink.TEXT: "#1c1c1c",
    Ink.PAPER: "#ffffff",
}
"""On white: contrast at least 4.5:1 for text and lines, 3:1 for faint outlines (WCAG 2.2, 1.4.3, 1.4.11)."""


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle, filled or as an outline."""

    x: float
    y: float
    radius: float
    ink: Ink
    filled: bool = True


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle from its upper left corner, filled (lightly by a ``strength`` under 1) or as an outline."""

    x: float
    y: float
    width: float
    height: float
    ink: Ink
    filled: bool = True
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class Path:
    """Straight lines from point to point; closed and filled, or open."""

    points: tuple[tuple[float, float], ...]
    ink: Ink
    closed: bool = False
    filled: bool = False
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """A word; ``anchor`` is ``start``, ``middle`` or ``end``."""

    x: float
    y: float
    text: str
    size: float = 11.0
    anchor: str = "start"


Shape = Disc | Box | Path | Label


@dataclass(frozen=True, slots=True)
class Chart:
    """Shapes on a ground of so many points, y downwards; ``said`` tells in words what it shows."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    said: str
