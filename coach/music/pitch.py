"""A spelled pitch: letter, accidental, octave."""

import re
from dataclasses import dataclass, replace
from typing import Self

from coach.errors import NoteNameError
from coach.music.tuning_system import A4_HZ, midi_to_hz

LETTERS = "CDEFGAB"
SEMITONES_OF_LETTER = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
ACCIDENTALS = {"bb": -2, "b": -1, "": 0, "#": 1, "##": 2, "x": 2, "♭": -1, "♯": 1}
_SIGN_OF_ALTER = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}
_SHARP_SPELLING = (("C", 0), ("C", 1), ("D", 0), ("D", 1), ("E", 0), ("F", 0), ("F", 1), ("G", 0), ("G", 1),
                   ("A", 0), ("A", 1), ("B", 0))  # fmt: skip
_NAME = re.compile(r"([A-G])(##|#|x|bb|b|♯|♭)?(-?[0-9])")
MIDI_RANGE = (0, 127)
"""MIDI 1.0, note numbers."""


@dataclass(frozen=True, slots=True)
class Pitch:
    """A sounding pitch with its spelling; C4 is middle C, MIDI note 60.

    Parameters
    ----------
    letter
        One of C D E F G A B.
    alter
        Semitones of the accidental, -2 to 2.
    octave
        The octave of the *letter*: Cb4 is MIDI 59.
    """

    letter: str
    alter: int
    octave: int

    def __post_init__(self) -> None:
        if self.letter not in SEMITONES_OF_LETTER or not -2 <= self.alter <= 2:
            raise ValueError(f"no such pitch: {self.letter!r}, {self.alter}, {self.octave}")

    @property
    def midi(self) -> int:
        """MIDI note number; may lie outside 0 to 127 for extreme octaves."""
        return 12 * (self.octave + 1) + SEMITONES_OF_LETTER[self.letter] + self.alter

    @property
    def pitch_class(self) -> int:
        """0 for C (and B#, Dbb) to 11 for B."""
        return self.midi % 12

    @property
    def steps(self) -> int:
        """Diatonic steps above C0, accidentals apart: what a staff shows."""
        return 7 * self.octave + LETTERS.index(self.letter)

    @property
    def name(self) -> str:
        """English name with octave, in plain ASCII: ``F#4``, ``Bb2``."""
        return f"{self.letter}{_SIGN_OF_ALTER[self.alter]}{self.octave}"

    def hz(self, a4_hz: float = A4_HZ) -> float:
        """Equal-tempered frequency in Hz."""
        return midi_to_hz(self.midi, a4_hz)

    def octaves_higher(self, octaves: int) -> "Pitch":
        """The same name so many octaves higher, or lower below zero."""
        return replace(self, octave=self.octave + octaves)

    @classmethod
    def from_midi(cls, midi: int) -> Self:
        """Pitch of a MIDI note number, spelled with sharps; ask a `Key` for a spelling in context."""
        letter, alter = _SHARP_SPELLING[midi % 12]
        return cls(letter, alter, midi // 12 - 1)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read an English note name with octave (``F#4``, ``Bb2``, ``Ex3``) or a MIDI number 0 to 127.

        Raises
        ------
        NoteNameError
            If the text is neither.
        """
        word = text.strip()
        if word.isascii() and word.isdigit() and int(word) <= MIDI_RANGE[1]:
            return cls.from_midi(int(word))
        match = _NAME.fullmatch(word)
        if match is None:
            raise NoteNameError(
                f"“{text}” is not a note name: write for example E2, F#4 or Bb3 (or 0 to 127)."
            )
        letter, accidental, octave = match.groups()
        return cls(letter, ACCIDENTALS[accidental or ""], int(octave))
