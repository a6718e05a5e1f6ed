"""What the segmenter says while the player sounds: a note began, was corrected, withdrawn, ended."""

from dataclasses import dataclass

from coach.music import PerformedNote


@dataclass(frozen=True, slots=True)
class NoteBegan:
    """A note is decided.

    Parameters
    ----------
    start_s
        When it began sounding, in seconds; earlier than ``decided_s``.
    midi
        The nearest MIDI note number.
    cents
        Deviation from it, -50 to 50.
    confidence
        0 to 1.
    decided_s
        Input time at which this event was given out.
    """

    start_s: float
    midi: int
    cents: float
    confidence: float
    decided_s: float


@dataclass(frozen=True, slots=True)
class NoteCorrected:
    """The note that began at ``start_s`` is another one after all; comes only early in the note's life."""

    start_s: float
    midi: int
    cents: float
    decided_s: float


@dataclass(frozen=True, slots=True)
class NoteWithdrawn:
    """The note that began at ``start_s`` was none: a bump or a squeak.

    Comes within its first 0.3 s, or where the note would have ended.

    No `NoteEnded` follows.
    """

    start_s: float
    decided_s: float


@dataclass(frozen=True, slots=True)
class NoteEnded:
    """A note is over; the finished value."""

    note: PerformedNote


NoteEvent = NoteBegan | NoteCorrected | NoteWithdrawn | NoteEnded
