"""What the segmenter expects of a source: plucked strings, a voice, or either."""

from dataclasses import dataclass

from coach.hearing.tracker import Source


@dataclass(frozen=True, slots=True)
class Manner:
    """Thresholds of the segmenter; all measured on development recordings, none from a published source.

    Parameters
    ----------
    agree_cents
        Two frames of one note lie no further apart than this.
    leave_cents
        A pitch further than this from the note under way is another note, if it stays.
    steady_frames
        Frames that must agree before a note is decided after an onset.
    unheralded_frames
        Frames that must agree before a note is decided that no onset heralded.
    change_frames
        Frames off the note under way that make a new one without an onset.
    silent_frames
        Unvoiced frames in a row that end a note.
    again_strength
        Onset strength from which the same pitch counts as struck again.
    rise_db
        How much the partials of a new pitch must rise when no onset heralds it.
    """

    agree_cents: float
    leave_cents: float
    steady_frames: int
    unheralded_frames: int
    change_frames: int
    silent_frames: int
    again_strength: float
    rise_db: float


MANNERS: dict[Source, Manner] = {
    "guitar": Manner(45.0, 65.0, 2, 4, 4, 6, 0.18, 3.0),
    "voice": Manner(60.0, 80.0, 2, 3, 5, 4, 0.60, 3.0),
    "any": Manner(50.0, 70.0, 2, 4, 4, 5, 0.25, 3.0),
}
