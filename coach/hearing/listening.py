"""The player's ear: one streaming object behind the live screens and behind ``coach listen``."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.decimate import Decimator
from coach.hearing.engines import PitchEngine
from coach.hearing.frames import F0Frame
from coach.hearing.notes.events import NoteEnded, NoteEvent
from coach.hearing.notes.segmenter import NoteSegmenter
from coach.hearing.room import RoomTalks
from coach.hearing.tracker import PitchTracker, Source
from coach.music import PerformedNote
from coach.music.tuning_system import A4_HZ

MOST_S = 0.100
"""Longest stretch that is heard at once."""
BLOCK_S = 0.010
"""Blocks in which `listen` hands a recording in, as a sound card would."""


@dataclass(frozen=True, slots=True)
class HeardChunk:
    """What one push brought: frames, events, the notes that ended, and whether the room talks.

    While the room talks no note begins.
    """

    frames: tuple[F0Frame, ...]
    events: tuple[NoteEvent, ...]
    notes: tuple[PerformedNote, ...]
    room_talks: bool = False


@dataclass(frozen=True, slots=True)
class Heard:
    """All that was heard in a recording; ``engine`` names what heard it."""

    notes: tuple[PerformedNote, ...]
    frames: tuple[F0Frame, ...]
    duration_s: float
    engine: str


class PlayerEar:
    """Decimator, tracker and segmenter in one.

    Parameters
    ----------
    rate_hz
        Sample rate of the device or the recording.
    engine
        The pitch engine.
    source
        Who is heard.
    a4_hz
        The tuning that note numbers refer to.
    """

    def __init__(
        self, rate_hz: int, engine: PitchEngine, *, source: Source = "any", a4_hz: float = A4_HZ
    ) -> None:
        self._rate_hz = rate_hz
        self._decimator = Decimator(rate_hz)
        self._tracker = PitchTracker(engine, source)
        self._segmenter = NoteSegmenter(source, a4_hz)
        self._room = RoomTalks()
        self._handed = 0

    def push(self, samples: NDArray[np.float32]) -> HeardChunk:
        """Take the next mono samples at the device's rate, shape (n,).

        A block longer than `MOST_S` (a machine was held up, a gap filled with silence) is heard in parts:
        what is judged beside a moment is kept for a second only.
        """
        most = round(MOST_S * self._rate_hz)
        parts = [self._push(samples[first : first + most]) for first in range(0, max(1, len(samples)), most)]
        return HeardChunk(
            frames=tuple(frame for part in parts for frame in part.frames),
            events=tuple(event for part in parts for event in part.events),
            notes=tuple(note for part in parts for note in part.notes),
            room_talks=parts[-1].room_talks,
        )

    def _push(self, samples: NDArray[np.float32]) -> HeardChunk:
        self._handed += len(samples)
        narrow = self._decimator.push(samples)
        frames = self._tracker.push(narrow, self._handed / self._rate_hz)
        return self._chunk(frames, self._segmented(frames, narrow))

    def flush(self) -> HeardChunk:
        """Close the stream: what was waiting for look-ahead, and the note that still sounds."""
        handed_s = self._handed / self._rate_hz
        rest = self._decimator.flush()
        frames = self._tracker.push(rest, handed_s) + self._tracker.flush(handed_s)
        events = self._segmented(frames, rest)
        return self._chunk(frames, events + self._segmenter.flush())

    def _segmented(self, frames: tuple[F0Frame, ...], samples: NDArray[np.float32]) -> tuple[NoteEvent, ...]:
        """The segmenter hears no pitch while the room talks."""
        heard = tuple(_muted(frame) if self._room.push((frame,)) else frame for frame in frames)
        return self._segmenter.push(heard, samples)

    def _chunk(self, frames: tuple[F0Frame, ...], events: tuple[NoteEvent, ...]) -> HeardChunk:
        notes = tuple(event.note for event in events if isinstance(event, NoteEnded))
        return HeardChunk(frames, events, notes, self._room.talking)


def listen(
    samples: NDArray[np.float32],
    rate_hz: int,
    *,
    engine: PitchEngine,
    source: Source = "any",
    a4_hz: float = A4_HZ,
) -> Heard:
    """Hear a whole recording by the live code, handed in in blocks of 10 ms.

    Parameters
    ----------
    samples
        Mono, shape (n,), full scale ±1.
    rate_hz
        Its sample rate.
    """
    ear = PlayerEar(rate_hz, engine, source=source, a4_hz=a4_hz)
    block = max(1, round(BLOCK_S * rate_hz))
    chunks = [ear.push(samples[first : first + block]) for first in range(0, len(samples), block)]
    chunks.append(ear.flush())
    duration_s = len(samples) / rate_hz
    return Heard(
        notes=tuple(note for chunk in chunks for note in chunk.notes),
        frames=tuple(frame for chunk in chunks for frame in chunk.frames if frame.time_s < duration_s),
        duration_s=duration_s,
        engine=engine.name,
    )


def _muted(frame: F0Frame) -> F0Frame:
    return F0Frame(frame.time_s, None, 0.0, voiced=False, decided_s=frame.decided_s)
