"""A note as it was heard from a player."""

from dataclasses import dataclass

from coach.music.span import Span


@dataclass(frozen=True, slots=True)
class PerformedNote:
    """A note heard in audio.

    Parameters
    ----------
    span
        Where it sounds, seconds from the first sample.
    midi
        The nearest MIDI note number, as last decided.
    cents
        Deviation from that note, -50 to 50 at the first decision; may grow beyond with a sliding voice.
    confidence
        0 to 1.
    first_midi
        The first claim, before any correction.
    decided_s
        Input time at which the final ``midi`` was first emitted (see the command line's rules on time).
    """

    span: Span
    midi: int
    cents: float
    confidence: float
    first_midi: int
    decided_s: float
