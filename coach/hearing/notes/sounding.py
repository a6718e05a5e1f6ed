"""The note under way: what the segmenter knows of it."""

from dataclasses import dataclass, field

import numpy as np

SETTLED_S = (0.08, 0.40)
"""The part of a note in which its deviation in cents is judged."""
SAME = 0.6
"""Pitches this close, in semitones, are one note's."""
_BESIDE, _BLEND = 2.5, 0.25
"""A string within so many semitones (but not the same one) beats with the note, and pulls its frames from so
far on towards itself."""


@dataclass(slots=True)
class Sounding:
    """A note that was claimed and sounds.

    Parameters
    ----------
    start_s, decided_s, last_s
        When it began, was decided, and was heard last.
    midi, first_midi
        What it is held to be, and what it was at first.
    confidence
        0 to 1.
    centre
        Its pitch as a MIDI number, following the frames.
    pitches
        Frames that hear it: time and pitch.
    before
        The pitch that was under way when it began, ``None`` where none was.
    looks
        How many later looks it has had.
    loudest_db
        Its loudest level in dB re full scale, known from the first of these looks on.
    """

    start_s: float
    midi: int
    first_midi: int
    confidence: float
    decided_s: float
    last_s: float
    centre: float
    pitches: list[tuple[float, float]] = field(default_factory=list)
    before: float | None = None
    looks: int = 0
    loudest_db: float | None = None

    def blended(self, pitch: float) -> bool:
        """Whether a frame hears something between this note and a string close by that rings on."""
        if self.before is None or not SAME < abs(self.before - self.midi) <= _BESIDE:
            return False
        towards = (pitch - self.midi) / (self.before - self.midi)
        return towards * abs(self.before - self.midi) > _BLEND and towards < 1.0

    def settled(self) -> float:
        """Its pitch as a MIDI number, judged where it has settled."""
        first, last = (self.start_s + shift_s for shift_s in SETTLED_S)
        inside = [pitch for time_s, pitch in self.pitches if first <= time_s <= last]
        everything = inside or [pitch for _, pitch in self.pitches]
        return float(np.median(everything)) if everything else float(self.midi)
