"""The note segmenter: pitch frames and onsets in, notes out, decided early.

A note begins at an onset (a pluck), at a lasting change of pitch (legato, a voice moving on) or where pitch
sets in by itself. It is decided as soon as enough frames agree, and may be corrected only while it is young.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from coach.hearing.events import NoteBegan, NoteCorrected, NoteEnded, NoteEvent
from coach.hearing.frames import FRAME_S, F0Frame
from coach.hearing.manner import MANNERS
from coach.hearing.onsets import Onset, OnsetDetector
from coach.hearing.partials import PartialMeter
from coach.hearing.tracker import Source
from coach.music import PerformedNote, Span
from coach.music.tuning_system import A4_HZ, hz_to_midi

CORRECTION_S = 0.150
"""A claim may be corrected within this time of the note's start, never later."""
_PATIENCE_S = 0.25
"""An onset after which no pitch is found for this long was no note."""
_SKIP_S = 0.012
"""Frames nearer to an onset than this still hear what was before it."""
_SETTLED_S = (0.08, 0.40)
"""The part of a note in which its deviation in cents is judged."""


@dataclass(slots=True)
class _Note:
    start_s: float
    midi: int
    first_midi: int
    confidence: float
    decided_s: float
    last_s: float
    pitches: list[tuple[float, float]] = field(default_factory=list)
    centre: float = 0.0


@dataclass(slots=True)
class _Frame:
    time_s: float
    pitch: float | None
    confidence: float
    decided_s: float


class NoteSegmenter:
    """Turns a stream of frames into notes.

    Parameters
    ----------
    source
        Who is heard.
    a4_hz
        The tuning that note numbers refer to.
    """

    def __init__(self, source: Source = "any", a4_hz: float = A4_HZ) -> None:
        self._manner = MANNERS[source]
        self._a4_hz = a4_hz
        self._detector = OnsetDetector()
        self._partials = PartialMeter()
        self._onsets: list[Onset] = []
        self._pending: Onset | None = None
        self._gathered: list[_Frame] = []
        self._away: list[_Frame] = []
        self._note: _Note | None = None
        self._silent = 0
        self._events: list[NoteEvent] = []

    def push(self, frames: tuple[F0Frame, ...], samples: NDArray[np.float32]) -> tuple[NoteEvent, ...]:
        """Take the next samples at 16 kHz and the frames that they completed; give what follows from them."""
        self._partials.push(samples)
        self._onsets.extend(self._detector.found(samples))
        self._events = []
        for frame in frames:
            self._frame(frame)
        return tuple(self._events)

    def flush(self) -> tuple[NoteEvent, ...]:
        """End the note that still sounds."""
        self._events = []
        self._end(None)
        return tuple(self._events)

    def _frame(self, f0: F0Frame) -> None:
        while self._onsets and self._onsets[0].time_s <= f0.time_s:
            self._pending = self._onsets.pop(0)
            self._gathered = []
            self._away = []
        pitch = hz_to_midi(f0.f0_hz, self._a4_hz) if f0.f0_hz is not None else None
        frame = _Frame(f0.time_s, pitch, f0.confidence, f0.decided_s)
        if self._pending is not None:
            self._heralded(frame, self._pending)
        else:
            self._unheralded(frame)

    def _heralded(self, frame: _Frame, onset: Onset) -> None:
        """A frame after an onset whose note is not decided yet."""
        if frame.time_s - onset.time_s < _SKIP_S:
            return
        if frame.pitch is not None:
            self._gathered.append(frame)
            if self._agree(self._gathered, self._manner.steady_frames):
                self._decide(onset.time_s, self._gathered[-self._manner.steady_frames :], onset)
                return
        if frame.time_s - onset.time_s > _PATIENCE_S:
            self._pending = None

    def _unheralded(self, frame: _Frame) -> None:
        if frame.pitch is None:
            self._away = []
            self._silent += 1
            if self._note is not None and self._silent >= self._manner.silent_frames:
                self._end(None)
            return
        self._silent = 0
        note = self._note
        if note is not None and abs(frame.pitch - note.centre) * 100 <= self._manner.leave_cents:
            self._continue(note, frame)
            return
        self._away.append(frame)
        needed = self._manner.unheralded_frames if note is None else self._manner.change_frames
        if self._agree(self._away, needed):
            run = self._away[-needed:]
            start_s = run[0].time_s - FRAME_S / 2
            if note is None or self._risen(run, start_s):
                self._decide(start_s, run, None)
        elif note is not None and frame.time_s - note.start_s <= CORRECTION_S:
            self._correct(note, frame)

    def _continue(self, note: _Note, frame: _Frame) -> None:
        self._away = []
        if frame.pitch is not None:
            note.pitches.append((frame.time_s, frame.pitch))
            note.last_s = frame.time_s
            note.centre += 0.15 * (frame.pitch - note.centre)

    def _correct(self, note: _Note, frame: _Frame) -> None:
        if len(self._away) < 2 or not self._agree(self._away, 2):
            return
        pitch = float(np.mean([f.pitch for f in self._away[-2:] if f.pitch is not None]))
        note.midi = round(pitch)
        note.centre = pitch
        note.decided_s = frame.decided_s
        note.pitches = [(f.time_s, f.pitch) for f in self._away[-2:] if f.pitch is not None]
        self._away = []
        self._events.append(
            NoteCorrected(note.start_s, note.midi, 100 * (pitch - note.midi), frame.decided_s)
        )

    def _agree(self, frames: list[_Frame], count: int) -> bool:
        if len(frames) < count:
            return False
        pitches = [frame.pitch for frame in frames[-count:] if frame.pitch is not None]
        return 100 * (max(pitches) - min(pitches)) <= self._manner.agree_cents

    def _risen(self, run: list[_Frame], start_s: float) -> bool:
        pitch = float(np.mean([f.pitch for f in run if f.pitch is not None]))
        f0_hz = self._a4_hz * 2.0 ** ((pitch - 69) / 12)
        after = self._partials.level_db(f0_hz, run[-1].time_s)
        return after - self._partials.level_db(f0_hz, start_s - 0.06) >= self._manner.rise_db

    def _decide(self, start_s: float, run: list[_Frame], onset: Onset | None) -> None:
        pitch = float(np.mean([f.pitch for f in run if f.pitch is not None]))
        self._pending = None
        self._gathered = []
        self._away = []
        self._silent = 0
        note = self._note
        rang_on = onset is not None and onset.strength < self._manner.again_strength
        if note is not None and rang_on and round(pitch) == note.midi:
            for frame in run:
                self._continue(note, frame)
            return
        self._end(start_s)
        confidence = float(np.mean([f.confidence for f in run]))
        self._note = _Note(
            start_s, round(pitch), round(pitch), confidence, run[-1].decided_s, run[-1].time_s, centre=pitch
        )
        self._note.pitches = [(f.time_s, f.pitch) for f in run if f.pitch is not None]
        self._events.append(
            NoteBegan(start_s, round(pitch), 100 * (pitch - round(pitch)), confidence, run[-1].decided_s)
        )

    def _end(self, at_s: float | None) -> None:
        """End the note under way, at a moment or where it was last heard."""
        note, self._note = self._note, None
        self._silent = 0
        if note is None:
            return
        end_s = note.last_s + FRAME_S / 2
        if at_s is not None:
            end_s = min(end_s, at_s)
        cents = 100 * (_settled(note) - note.midi)
        span = Span(note.start_s, max(end_s, note.start_s + FRAME_S))
        self._events.append(
            NoteEnded(PerformedNote(span, note.midi, cents, note.confidence, note.first_midi, note.decided_s))
        )


def _settled(note: _Note) -> float:
    first, last = (note.start_s + t for t in _SETTLED_S)
    inside = [pitch for time_s, pitch in note.pitches if first <= time_s <= last]
    return float(np.median(inside or [pitch for _, pitch in note.pitches]))
