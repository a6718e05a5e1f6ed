"""The comfortable range of the player's voice, found while they sing."""

from dataclasses import dataclass, replace

from coach.music import PerformedNote

_LEAST_S = 0.25
"""A note held shorter than this proves nothing about comfort. Common practice, no source."""
_LEAST_CONFIDENCE = 0.6
_STEP = 5
"""A note further outside the range than a fourth must come twice: it may be a slip of the tracker."""


@dataclass(frozen=True, slots=True)
class VoiceRange:
    """What was sung without strain so far.

    Parameters
    ----------
    lowest, highest
        MIDI notes, ``None`` before the first note.
    doubted
        A note far outside, heard once.
    """

    lowest: int | None = None
    highest: int | None = None
    doubted: int | None = None

    def __post_init__(self) -> None:
        if (self.lowest is None) != (self.highest is None):
            raise ValueError("a range has both ends or none")
        if self.lowest is not None and self.highest is not None and self.lowest > self.highest:
            raise ValueError(f"the lowest note lies over the highest: {self.lowest}, {self.highest}")

    def widened(self, note: PerformedNote) -> "VoiceRange":
        """The range with this note in it; the same range if the note is too short or uncertain to count."""
        if note.span.length_s < _LEAST_S or note.confidence < _LEAST_CONFIDENCE:
            return self
        if self.lowest is None or self.highest is None:
            return VoiceRange(note.midi, note.midi)
        outside = max(self.lowest - note.midi, note.midi - self.highest)
        if outside <= 0:
            return self
        doubtful = self.doubted is None or abs(self.doubted - note.midi) > 2
        if outside > _STEP and doubtful:
            return replace(self, doubted=note.midi)
        return VoiceRange(min(self.lowest, note.midi), max(self.highest, note.midi))
