"""Intervals between two pitches: generic size, quality, semitones."""

from dataclasses import dataclass
from typing import Self

from coach.music.pitch import Pitch

_PERFECT_NUMBERS = frozenset({1, 4, 5})
_SEMITONES_OF_NUMBER = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}
"""Major and perfect intervals: the steps of the major scale above its tonic."""
_PERFECT_QUALITIES = {-3: "ddd", -2: "dd", -1: "d", 0: "P", 1: "A", 2: "AA", 3: "AAA"}
_MAJOR_QUALITIES = {-4: "ddd", -3: "dd", -2: "d", -1: "m", 0: "M", 1: "A", 2: "AA", 3: "AAA"}
_QUALITY_WORDS = {"d": "diminished", "m": "minor", "P": "perfect", "M": "major", "A": "augmented"}
_NUMBER_WORDS = {
    1: "unison", 2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth", 7: "seventh", 8: "octave",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Interval:
    """A directed interval.

    Parameters
    ----------
    steps
        Diatonic steps from the first letter to the second, signed: 0 unison, 2 a third up, -7 an octave down.
    semitones
        Signed size in semitones.
    """

    steps: int
    semitones: int

    @classmethod
    def between(cls, first: Pitch, second: Pitch) -> Self:
        """The interval that leads from ``first`` to ``second``."""
        return cls(second.steps - first.steps, second.midi - first.midi)

    @property
    def rising(self) -> bool:
        """False for a falling interval; a unison counts by its semitones, a perfect one as rising."""
        return self.steps > 0 or (self.steps == 0 and self.semitones >= 0)

    @property
    def number(self) -> int:
        """1 for a unison, 3 for a third, 8 for an octave, 10 for a tenth."""
        return abs(self.steps) + 1

    @property
    def quality(self) -> str:
        """P, M, m, A or d (doubled for doubly augmented or diminished)."""
        steps, semitones = (self.steps, self.semitones) if self.rising else (-self.steps, -self.semitones)
        simple = steps % 7 + 1
        natural = _SEMITONES_OF_NUMBER[simple] + 12 * (steps // 7)
        table = _PERFECT_QUALITIES if simple in _PERFECT_NUMBERS else _MAJOR_QUALITIES
        difference = semitones - natural
        if difference not in table:
            raise ValueError(f"no name for {self.steps} steps with {self.semitones} semitones")
        return table[difference]

    @property
    def short_name(self) -> str:
        """Such as ``M3``, ``P5``, ``A4``; without direction."""
        return f"{self.quality}{self.number}"

    @property
    def name(self) -> str:
        """Such as ``major third``; compound intervals beyond the octave by number (``major 10th``)."""
        quality = self.quality
        word = "doubly " * (len(quality) - 1) + _QUALITY_WORDS[quality[0]]
        return f"{word} {_NUMBER_WORDS.get(self.number, f'{self.number}th')}"

    def above(self, pitch: Pitch) -> Pitch:
        """The pitch this interval leads to; ``ValueError`` where it would need a triple accidental."""
        octave, letter_index = divmod(pitch.steps + self.steps, 7)
        natural = Pitch("CDEFGAB"[letter_index], 0, octave)
        return Pitch(natural.letter, pitch.midi + self.semitones - natural.midi, octave)
