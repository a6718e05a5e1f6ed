"""What is to sound, as values: the vocabulary of everything that is rendered here (no arrays)."""

from dataclasses import dataclass
from enum import StrEnum


class Timbre(StrEnum):
    """A computed instrument."""

    PLUCK = "pluck"
    """A plucked nylon string."""
    PIANO = "piano"
    """A struck string with two-stage decay."""
    VOICE = "voice"
    """A steady open vowel."""
    REED = "reed"
    """A held tone of odd partials."""
    DEEP = "deep"
    """A plucked string with a dark tone, for bass lines."""
    DRONE = "drone"
    """A soft tone that holds as long as it is wanted."""


@dataclass(frozen=True, slots=True)
class PromptNote:
    """A note to be rendered.

    Parameters
    ----------
    midi
        Sounding pitch, 0 to 127.
    start_s, end_s
        Where it sounds, seconds from the start of the sound; silent outside.
    timbre
        Its own instrument, ``None`` for the one the renderer is given.
    gain_db
        Over (or, below zero, under) the common loudness, -60 to 12 dB.
    """

    midi: int
    start_s: float
    end_s: float
    timbre: Timbre | None = None
    gain_db: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.start_s < self.end_s:
            raise ValueError(f"a note must end after it starts: {self.start_s} to {self.end_s}")
        if not 0 <= self.midi <= 127 or not -60.0 <= self.gain_db <= 12.0:
            raise ValueError(f"no such note: midi {self.midi}, {self.gain_db} dB")


@dataclass(frozen=True, slots=True)
class PromptClick:
    """A click of the metronome at a moment in seconds; an accented one is higher."""

    at_s: float
    accent: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """The notes of one player in an ensemble.

    Parameters
    ----------
    name
        Such as ``tune``.
    timbre
        The instrument of all notes without their own.
    notes
        In order of onset.
    level_db
        Under the common loudness, at most 0.
    pan
        -1 (left) to 1 (right).
    """

    name: str
    timbre: Timbre
    notes: tuple[PromptNote, ...]
    level_db: float = 0.0
    pan: float = 0.0
