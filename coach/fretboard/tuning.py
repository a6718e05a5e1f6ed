"""Tunings, and where the frets lie.

Distances are those of equal temperament: fret ``n`` of a string of length ``L`` lies
``L · (1 − 2^(−n/12))`` from the nut, since each fret divides the sounding length by ``2^(1/12)``.
"""

from dataclasses import dataclass
from typing import Self

from coach.errors import NoteNameError
from coach.music.pitch import Pitch
from coach.music.tuning_system import STANDARD_STRINGS

STRING_COUNT = 6
SCALE_MM = 650.0
"""Sounding length of an open string: the usual one of a classical guitar. Common practice, no source."""
TUNING_RANGE = (24, 76)
"""Lowest and highest MIDI note an open string may be tuned to: wider than any strings are sold for."""


@dataclass(frozen=True, slots=True)
class Tuning:
    """The open strings.

    Parameters
    ----------
    strings
        MIDI notes of the six open strings, string 6 (thickest) first.
    """

    strings: tuple[int, int, int, int, int, int]

    def __post_init__(self) -> None:
        if len(self.strings) != STRING_COUNT:
            raise ValueError("a tuning has six strings")
        if any(not TUNING_RANGE[0] <= midi <= TUNING_RANGE[1] for midi in self.strings):
            raise ValueError(f"a string outside MIDI notes {TUNING_RANGE}: {self.strings}")

    def open_midi(self, string: int) -> int:
        """MIDI note of an open string, 1 (thinnest) to 6."""
        if not 1 <= string <= STRING_COUNT:
            raise ValueError(f"no such string: {string}")
        return self.strings[STRING_COUNT - string]

    def lowered(self, string: int, semitones: int = 2) -> "Tuning":
        """This tuning with one string let down, a tone by default."""
        strings = list(self.strings)
        strings[STRING_COUNT - string] -= semitones
        low6, low5, low4, low3, low2, low1 = strings
        return Tuning((low6, low5, low4, low3, low2, low1))

    @property
    def name(self) -> str:
        """The open strings from 6 to 1, as `parse` reads them: ``E2,A2,D3,G3,B3,E4``."""
        return ",".join(Pitch.from_midi(midi).name for midi in self.strings)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read six note names with octaves, string 6 first: ``E2,A2,D3,G3,B3,E4``.

        Raises
        ------
        NoteNameError
            If there are not six names, or one of them is no note a string can be tuned to.
        """
        words = text.split(",")
        if len(words) != STRING_COUNT:
            raise NoteNameError(
                f"“{text}” is not a tuning: write six notes from the thickest string up, E2,A2,D3,G3,B3,E4."
            )
        midi6, midi5, midi4, midi3, midi2, midi1 = (Pitch.parse(word).midi for word in words)
        try:
            return cls((midi6, midi5, midi4, midi3, midi2, midi1))
        except ValueError as error:
            raise NoteNameError(
                f"“{text}” is not a tuning for guitar strings: write for example E2,A2,D3,G3,B3,E4."
            ) from error


STANDARD = Tuning(STANDARD_STRINGS)


def fret_mm(fret: int, scale_mm: float = SCALE_MM) -> float:
    """Distance from the nut to a fret in mm; fret 12 halves the string."""
    return float(scale_mm * (1.0 - 2.0 ** (-fret / 12.0)))


def from_capo_mm(fret: int, capo: int = 0, scale_mm: float = SCALE_MM) -> float:
    """Distance from the capo to a fret counted from the capo, in mm: ``x(c + f) − x(c)``."""
    return fret_mm(capo + fret, scale_mm) - fret_mm(capo, scale_mm)
