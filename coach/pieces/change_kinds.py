"""The changes that may be offered where two lines cannot be played, and what each costs.

The prices say how much of the music a change takes away, so that the smallest change has the lowest price.
They are our own judgement, from no source; their order matters more than their size.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from coach.notation.line import LineKind

FREE = Fraction(0)


class ChangeKind(StrEnum):
    """What is changed, from the cheapest to the dearest."""

    SHORTEN_BASS = "shorten_bass"
    BASS_NOTE_OCTAVE = "bass_note_octave"
    MELODY_OCTAVE = "melody_octave"
    BASS_OCTAVE = "bass_octave"
    LOWER_STRING_6 = "lower_string_6"
    TRANSPOSE = "transpose"
    CAPO = "capo"


@dataclass(frozen=True, slots=True)
class Prices:
    """Points for each kind of change.

    Parameters
    ----------
    shorten_quarter
        For each quarter note by which a bass note is let go early.
    bass_note_octave
        For each single bass note an octave higher.
    melody_octave, bass_octave
        For a whole line, each octave; moving a line into the guitar's register costs nothing.
    lower_string_6
        For the thickest string a tone lower.
    transpose, transpose_fret
        For another key, and for each fret (semitone) away from the given one.
    capo, capo_fret
        For another place of the capo, and for each fret away from the given one.
    """

    shorten_quarter: Fraction = Fraction(1, 2)
    bass_note_octave: Fraction = Fraction(2)
    melody_octave: Fraction = Fraction(4)
    bass_octave: Fraction = Fraction(5)
    lower_string_6: Fraction = Fraction(6)
    transpose: Fraction = Fraction(7)
    transpose_fret: Fraction = Fraction(1, 2)
    capo: Fraction = Fraction(7)
    capo_fret: Fraction = Fraction(1, 2)


PRICES = Prices()


@dataclass(frozen=True, slots=True)
class Change:
    """One change.

    Parameters
    ----------
    kind
        What is changed.
    detail
        In a few words, for the player.
    price
        In points.
    line, onset
        The line it concerns, ``None`` for both; the onset of a single note, ``None`` for the whole piece.
    """

    kind: ChangeKind
    detail: str
    price: Fraction
    line: LineKind | None = None
    onset: Fraction | None = None

    @property
    def what(self) -> tuple[ChangeKind, LineKind | None, Fraction | None, str]:
        """The change without its price, to tell changes apart."""
        return (self.kind, self.line, self.onset, self.detail)
