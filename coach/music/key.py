"""Major and minor keys: signature, scale, spelling."""

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from coach.errors import NoteNameError
from coach.music.pitch import ACCIDENTALS, SEMITONES_OF_LETTER, Pitch

_FIFTHS_OF_LETTER = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_ORDER_OF_SHARPS = "FCGDAEB"
_NAME = re.compile(r"([A-G])(#|b|♯|♭)?(m)?")
MOST_FIFTHS = 7
"""Signatures of more than seven sharps or flats are not in use."""


class Mode(StrEnum):
    """Major or minor."""

    MAJOR = "major"
    MINOR = "minor"


SCALE_SEMITONES = {Mode.MAJOR: (0, 2, 4, 5, 7, 9, 11), Mode.MINOR: (0, 2, 3, 5, 7, 8, 10)}
"""Semitones of the degrees above the tonic: major, natural minor."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key by tonic letter, tonic accidental and mode; at most seven sharps or flats."""

    letter: str
    alter: int
    mode: Mode = Mode.MAJOR

    def __post_init__(self) -> None:
        if self.letter not in SEMITONES_OF_LETTER or abs(self.fifths) > MOST_FIFTHS:
            raise ValueError(f"no such key: {self.letter!r}, {self.alter}, {self.mode}")

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) in the signature."""
        return _FIFTHS_OF_LETTER[self.letter] + 7 * self.alter - (3 if self.mode is Mode.MINOR else 0)

    @property
    def name(self) -> str:
        """Such as ``G``, ``Bb``, ``F#m``."""
        sign = {-1: "b", 0: "", 1: "#"}[self.alter]
        return f"{self.letter}{sign}{'m' if self.mode is Mode.MINOR else ''}"

    @property
    def tonic_class(self) -> int:
        """Pitch class of the tonic, 0 (C) to 11 (B)."""
        return (SEMITONES_OF_LETTER[self.letter] + self.alter) % 12

    @property
    def scale_classes(self) -> tuple[int, ...]:
        """Pitch classes of the seven degrees from the tonic up (natural minor in minor)."""
        return tuple((self.tonic_class + step) % 12 for step in SCALE_SEMITONES[self.mode])

    def alter_of(self, letter: str) -> int:
        """Semitones that the signature puts on a letter: -1, 0 or 1."""
        sharps = max(self.fifths, 0)
        flats = max(-self.fifths, 0)
        if letter in _ORDER_OF_SHARPS[:sharps]:
            return 1
        return -1 if letter in _ORDER_OF_SHARPS[7 - flats :] else 0

    def spell(self, midi: int) -> Pitch:
        """Spell a MIDI note number as this key would write it.

        The spelling lies on the line of fifths from five below the tonic (the lowered second) to six above
        (the raised fourth): scale notes keep the signature, the sixth and seventh of minor are spelled as
        raised. Common practice, no source.
        """
        lowest = _FIFTHS_OF_LETTER[self.letter] + 7 * self.alter - 5
        fifths = lowest + (midi * 7 - lowest) % 12
        alter, place = divmod(fifths + 1, 7)
        letter = _ORDER_OF_SHARPS[place]
        octave = (midi - SEMITONES_OF_LETTER[letter] - alter) // 12 - 1
        if not -2 <= alter <= 2:
            return Pitch.from_midi(midi)
        return Pitch(letter, alter, octave)

    def transposed(self, semitones: int) -> "Key":
        """The key that lies so many semitones higher, spelled with the fewer accidentals."""
        return Key.of_class(self.tonic_class + semitones, self.mode)

    @classmethod
    def of_class(cls, pitch_class: int, mode: Mode = Mode.MAJOR) -> Self:
        """The key on a pitch class; of two spellings the one with fewer accidentals (flats on a tie)."""
        found = [
            cls(letter, alter, mode)
            for alter in (-1, 0, 1)
            for letter in "CDEFGAB"
            if (SEMITONES_OF_LETTER[letter] + alter - pitch_class) % 12 == 0
            and abs(_FIFTHS_OF_LETTER[letter] + 7 * alter - (3 if mode is Mode.MINOR else 0)) <= MOST_FIFTHS
        ]
        return min(found, key=lambda key: (abs(key.fifths), key.fifths > 0))

    @classmethod
    def of_fifths(cls, fifths: int, mode: Mode = Mode.MAJOR) -> Self:
        """The key with a given signature; ``ValueError`` beyond seven sharps or flats."""
        place = fifths + (3 if mode is Mode.MINOR else 0) + 1
        alter, index = divmod(place, 7)
        return cls(_ORDER_OF_SHARPS[index], alter, mode)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``G``, ``Bb``, ``F#m``.

        Raises
        ------
        NoteNameError
            If the text is not a key of at most seven accidentals.
        """
        match = _NAME.fullmatch(text.strip())
        if match is not None:
            letter, sign, minor = match.groups()
            try:
                return cls(letter, ACCIDENTALS[sign or ""], Mode.MINOR if minor else Mode.MAJOR)
            except ValueError:
                pass
        raise NoteNameError(f"“{text}” is not a key: write for example G, Bb or F#m.")
