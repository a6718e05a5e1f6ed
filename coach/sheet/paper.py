"""Sizes of paper."""

from enum import StrEnum

POINTS_PER_MM = 72 / 25.4
"""PDF's unit: 1/72 inch."""
_SIZES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""ISO 216 and ANSI/ASME Y14.1."""


class Paper(StrEnum):
    """The paper a sheet is laid out for, upright."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height in millimetres."""
        return _SIZES_MM[self.value]

    @property
    def size_points(self) -> tuple[float, float]:
        """Width and height in points."""
        width, height = self.size_mm
        return (width * POINTS_PER_MM, height * POINTS_PER_MM)
