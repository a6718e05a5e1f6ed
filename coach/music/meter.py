"""Meters and what follows from them: bars and beats in quarter notes."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Self

from typing_extensions import override

from coach.errors import NoteNameError

_UNITS = (1, 2, 4, 8, 16)
_TEXT = re.compile(r"([0-9]{1,2})/([0-9]{1,2})")


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature, such as 3/4 or 6/8."""

    count: int
    unit: int

    def __post_init__(self) -> None:
        if not 1 <= self.count <= 32 or self.unit not in _UNITS:
            raise ValueError(f"no such meter: {self.count}/{self.unit}")

    @override
    def __str__(self) -> str:
        return f"{self.count}/{self.unit}"

    @property
    def compound(self) -> bool:
        """Whether beats divide in three: 6/8, 9/8, 12/8 and the like."""
        return self.count % 3 == 0 and self.count > 3 and self.unit >= 8

    @property
    def bar(self) -> Fraction:
        """Length of a bar in quarter notes."""
        return Fraction(4 * self.count, self.unit)

    @property
    def beat(self) -> Fraction:
        """Length of a beat in quarter notes: a dotted value in compound meters."""
        unit = Fraction(4, self.unit)
        return 3 * unit if self.compound else unit

    @property
    def beats(self) -> int:
        """Beats in a bar: 2 in 6/8, 3 in 3/4."""
        return self.count // 3 if self.compound else self.count

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``4/4``, ``6/8``.

        Raises
        ------
        NoteNameError
            If the text is not a meter.
        """
        match = _TEXT.fullmatch(text.strip())
        if match is not None:
            try:
                return cls(int(match[1]), int(match[2]))
            except ValueError:
                pass
        raise NoteNameError(f"“{text}” is not a meter: write for example 4/4, 3/4 or 6/8.")
