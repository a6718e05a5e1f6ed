"""Sections: the unit of work."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Section:
    """A named part of a piece, from its onset (quarter notes) to the next one's; may begin with an upbeat."""

    name: str
    onset: Fraction

    def __post_init__(self) -> None:
        if not self.name.strip() or self.onset < 0:
            raise ValueError(
                f"a section needs a name and an onset of at least 0: {self.name!r}, {self.onset}"
            )


def section_name(index: int) -> str:
    """A, B, …, Z, AA, AB, … for 0, 1, …; ``ValueError`` below 0."""
    if index < 0:
        raise ValueError("sections are counted from 0")
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name
