"""One written note."""

from dataclasses import dataclass
from fractions import Fraction

from typing_extensions import override

from coach.errors import LineError
from coach.music.pitch import MIDI_RANGE, Pitch

ALLOWED_DENOMINATORS = frozenset({1, 2, 3, 4, 6, 8, 12, 16})
"""Denominators of musical times in quarter notes: sixteenths of a quarter, triplets and their halves."""
HIGHEST_FRET = 24
"""As far as a fretboard is drawn, counted from the nut."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A place on the fretboard: string 1 (thinnest) to 6, fret 0 (open) upwards, counted from the capo."""

    string: int
    fret: int

    def __post_init__(self) -> None:
        if not 1 <= self.string <= 6 or self.fret < 0:
            raise ValueError(f"no such place: string {self.string}, fret {self.fret}")


@dataclass(frozen=True, slots=True)
class Note:
    """A written note.

    Parameters
    ----------
    onset, duration
        In quarter notes, exact; onset 0 is the start of the upbeat if there is one.
    pitch
        The sounding pitch, spelled.
    place
        Where the player has chosen to play it; ``None`` leaves the choice open.
    syllable
        Words under the note, if any.
    long
        In a piece without beats: whether it is a long note or a short one; ``None`` where beats tell.
    """

    onset: Fraction
    duration: Fraction
    pitch: Pitch
    place: Place | None = None
    syllable: str | None = None
    long: bool | None = None

    def __post_init__(self) -> None:
        if self.duration <= 0:
            raise LineError(f"The note {self} must last longer than nothing.")
        if self.onset < 0:
            raise LineError(f"The note {self} starts before the music does.")
        if not MIDI_RANGE[0] <= self.pitch.midi <= MIDI_RANGE[1]:
            raise LineError(f"The note {self} lies outside the range of MIDI notes, 0 to 127.")
        for time in (self.onset, self.duration):
            if time.denominator not in ALLOWED_DENOMINATORS:
                raise LineError(
                    f"The note {self} has a time of {time}: use halves, thirds, quarters, sixths, eighths, "
                    "twelfths or sixteenths of a quarter note."
                )

    @override
    def __str__(self) -> str:
        return f"{self.pitch.name} at quarter {self.onset}"

    @property
    def end(self) -> Fraction:
        """Where the note stops, in quarters."""
        return self.onset + self.duration

    @property
    def midi(self) -> int:
        """MIDI number of the sounding pitch, 0 to 127."""
        return self.pitch.midi
