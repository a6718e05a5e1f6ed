"""The evidence for every pitch in a span, as plain numbers that may cross into packages without numpy."""

from dataclasses import dataclass, field

from coach.music.span import Span
from coach.notation.line import LineKind


@dataclass(frozen=True, slots=True)
class SettledNote:
    """A note of the other line that the player has settled: where it sounds in the recording."""

    span: Span
    midi: int


@dataclass(frozen=True, slots=True)
class Bars:
    """How much probability each answer needs; chosen when the model was trained.

    Parameters
    ----------
    heard, octave
        Least probability of the asked pitch, or of it in another octave.
    absent
        Most probability that both together may keep for a *not heard*.
    direction, near, away, reveal
        Of the hints: on one side; within a whole tone; the most for *not within*; of the one note.
    """

    heard: float = 0.9
    octave: float = 0.9
    absent: float = 0.05
    direction: float = 0.85
    near: float = 0.85
    away: float = 0.07
    reveal: float = 0.8


@dataclass(frozen=True, slots=True)
class PitchEvidence:
    """Which pitch the line holds in a span: a probability for each.

    Parameters
    ----------
    line, span
        What was asked about.
    lowest_midi
        Pitch of the first entry of each tuple.
    posterior
        Probabilities of pitches in the span, summing to 1; all 0 where nothing sounds or nothing is known.
    earlier, later
        The same for the stretches right before and right after the span.
    reliability
        0 to 1: how much the recording is like those the model learned on; where it is not, the bars are
        higher.
    sounding
        Whether anything sounds in the span.
    """

    line: LineKind
    span: Span
    lowest_midi: int
    posterior: tuple[float, ...] = field(repr=False)
    earlier: tuple[float, ...] = field(repr=False)
    later: tuple[float, ...] = field(repr=False)
    reliability: float
    bars: Bars
    sounding: bool = True

    @property
    def highest_midi(self) -> int:
        """Pitch of the last entry."""
        return self.lowest_midi + len(self.posterior) - 1

    def of(self, midi: int, *, when: str = "now") -> float:
        """Probability of a pitch, 0 outside the range; ``when`` is ``earlier``, ``now`` or ``later``."""
        table = {"earlier": self.earlier, "now": self.posterior, "later": self.later}[when]
        place = midi - self.lowest_midi
        return table[place] if 0 <= place < len(table) else 0.0
