"""Sung steps of a semitone without a break: a held pitch that moves on to another held pitch.

A voice that swings (vibrato) or wanders goes as far as a semitone, too; but it does not come to rest there.
A step is told by rest on both sides: a tenth of a second in which the new pitch holds still, and not long
before it a shorter while in which the old one did.
"""

from collections import deque
from dataclasses import dataclass

from coach.hearing.frames import PitchFrame

_NEW_FRAMES = 8
"""0.11 s from the first to the last: nearly half a swing of the slowest vibrato (4 to 7 Hz)."""
_OLD_FRAMES = 5
_MOST_BETWEEN = 14
"""A glide of more than 0.22 s is no step."""
_HELD, _OLD_HELD = 0.35, 0.25
"""Semitones within which the new pitch, and the old one, hold still."""
_STEP = 0.7
"""Semitones from which on it is a step: more than lies between the turning points of any vibrato of 4 Hz or
faster that is narrow enough to pass for held there (0.67, by calculation)."""


@dataclass(frozen=True, slots=True)
class LegatoStep:
    """The pitch moved on: when it crossed the middle between both, and the frames of the new one."""

    start_s: float
    pitch: float
    frames: tuple[PitchFrame, ...]


class LegatoSteps:
    """Follows the frames of one breath."""

    def __init__(self) -> None:
        self._frames: deque[PitchFrame] = deque(maxlen=_OLD_FRAMES + _MOST_BETWEEN + _NEW_FRAMES)

    def clear(self) -> None:
        """Forget what was: the breath is over, or a note began in another way."""
        self._frames.clear()

    def push(self, frame: PitchFrame) -> LegatoStep | None:
        """Take the next frame (one without pitch ends the breath); give the step that it completes."""
        if frame.pitch is None:
            self.clear()
            return None
        self._frames.append(frame)
        frames = list(self._frames)
        new, earlier = frames[-_NEW_FRAMES:], frames[:-_NEW_FRAMES]
        if not _within(new, _HELD):
            return None
        pitch = _mean(new)
        for end in range(len(earlier), _OLD_FRAMES - 1, -1):
            held = earlier[end - _OLD_FRAMES : end]
            old = _mean(held)
            if _within(held, _OLD_HELD) and abs(old - pitch) >= _STEP and round(old) != round(pitch):
                crossed = next(each for each in frames[end:] if _nearer(each, pitch, old))
                self.clear()
                return LegatoStep(crossed.time_s, pitch, tuple(new))
        return None


def _nearer(frame: PitchFrame, pitch: float, old: float) -> bool:
    return frame.pitch is not None and abs(frame.pitch - pitch) < abs(frame.pitch - old)


def _pitches(frames: list[PitchFrame]) -> list[float]:
    return [frame.pitch for frame in frames if frame.pitch is not None]


def _within(frames: list[PitchFrame], semitones: float) -> bool:
    pitches = _pitches(frames)
    return max(pitches) - min(pitches) <= semitones


def _mean(frames: list[PitchFrame]) -> float:
    pitches = _pitches(frames)
    return sum(pitches) / len(pitches)
