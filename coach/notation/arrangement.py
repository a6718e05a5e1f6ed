"""An arrangement: one melody line over one bass line."""

from dataclasses import dataclass, field, replace
from fractions import Fraction

from coach.errors import LineError
from coach.music.key import Key
from coach.music.meter import Meter
from coach.notation.line import Line, LineKind
from coach.notation.note import ALLOWED_DENOMINATORS, Note
from coach.notation.section import Section

MAX_CAPO = 9
TEMPO_RANGE_BPM = (10.0, 400.0)
"""Quarter notes a minute; beyond, a number is a slip and no tempo."""
DEFAULT_TEMPO_BPM = 80.0
"""Where none is known: slow enough to learn at. Common practice, no source."""
MAX_QUARTERS = 4096
"""About 1000 bars; longer input is a mistake, not a first arrangement."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Two monophonic lines with what is needed to write them down; a third note cannot be expressed.

    Parameters
    ----------
    title
        Shown on the sheet.
    meter, key, tempo_bpm
        ``tempo_bpm`` counts quarter notes a minute.
    melody, bass
        The two lines, onset 0 at the start of the upbeat if there is one.
    pickup
        Length of the upbeat in quarters, 0 to less than a bar.
    capo
        Fret of the capo, 0 to 9; notes sound as written, places count from the capo.
    sections
        In order of onset; may be empty.
    """

    title: str
    meter: Meter
    key: Key
    tempo_bpm: float
    melody: Line = field(default_factory=lambda: Line(LineKind.MELODY))
    bass: Line = field(default_factory=lambda: Line(LineKind.BASS))
    pickup: Fraction = Fraction(0)
    capo: int = 0
    sections: tuple[Section, ...] = ()

    def __post_init__(self) -> None:
        if self.melody.kind is not LineKind.MELODY or self.bass.kind is not LineKind.BASS:
            raise ValueError("melody and bass are in each other's place")
        if not 0 <= self.pickup < self.meter.bar or self.pickup.denominator not in ALLOWED_DENOMINATORS:
            raise LineError(
                f"The upbeat of {self.pickup} quarters must be shorter than a bar of {self.meter}."
            )
        if not 0 <= self.capo <= MAX_CAPO:
            raise LineError(f"A capo on fret {self.capo} is out of range: use 0 to {MAX_CAPO}.")
        if not TEMPO_RANGE_BPM[0] <= self.tempo_bpm <= TEMPO_RANGE_BPM[1]:
            raise LineError(
                f"A tempo of {self.tempo_bpm} is out of range: use 10 to 400 quarter notes a minute."
            )
        if max(self.melody.end, self.bass.end) > MAX_QUARTERS:
            raise LineError(
                f"The piece is longer than {MAX_QUARTERS} quarter notes: take a shorter part of it."
            )
        if list(self.sections) != sorted(self.sections, key=lambda section: section.onset):
            raise LineError("The sections are not in the order of their onsets.")

    @property
    def lines(self) -> tuple[Line, Line]:
        """Melody and bass."""
        return (self.melody, self.bass)

    def line(self, kind: LineKind) -> Line:
        """One of the two lines."""
        return self.melody if kind is LineKind.MELODY else self.bass

    @property
    def end(self) -> Fraction:
        """End of the last full bar that the notes need, in quarters."""
        last = max(self.melody.end, self.bass.end)
        if last <= self.pickup:
            return self.pickup or Fraction(0)
        bars = -((self.pickup - last) // self.meter.bar)
        return self.pickup + bars * self.meter.bar

    @property
    def bar_count(self) -> int:
        """Full bars, the upbeat not counted."""
        return int((self.end - self.pickup) / self.meter.bar)

    def bar_of(self, time: Fraction) -> int:
        """Number of the bar a musical time lies in: 0 is the upbeat, 1 the first full bar."""
        return int((time - self.pickup) // self.meter.bar) + 1

    def bar_start(self, number: int) -> Fraction:
        """Onset of a bar in quarters; bar 0 is the upbeat."""
        return Fraction(0) if number <= 0 else self.pickup + (number - 1) * self.meter.bar

    def onsets(self) -> tuple[Fraction, ...]:
        """All times at which a note of either line is struck, rising."""
        return tuple(sorted({note.onset for line in self.lines for note in line}))

    def sounding(self, time: Fraction) -> tuple[Note | None, Note | None]:
        """The melody and the bass note at a musical time."""
        return (self.melody.at(time), self.bass.at(time))

    def with_line(self, line: Line) -> "Arrangement":
        """This arrangement with one line put in the place of its own."""
        return replace(self, melody=line) if line.kind is LineKind.MELODY else replace(self, bass=line)
