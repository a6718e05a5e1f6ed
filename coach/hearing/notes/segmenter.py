"""The note segmenter: pitch frames and onsets in, notes out, decided early.

A note begins at an onset (a pluck), at a lasting change of pitch (legato, a voice moving on) or where pitch
sets in by itself. It is decided as soon as it is sure enough, and may be corrected only while it is young.
"""

from collections import deque

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import FRAME_S, F0Frame, PitchFrame
from coach.hearing.notes.again import Loudness, StruckAgain
from coach.hearing.notes.candidate import (
    FAST_DB_PER_S,
    PATIENCE_S,
    SKIP_S,
    Candidate,
    Claim,
    thumps,
)
from coach.hearing.notes.doubt import LOOKS_S, Doubt
from coach.hearing.notes.events import NoteBegan, NoteCorrected, NoteEnded, NoteEvent, NoteWithdrawn
from coach.hearing.notes.fresh import Fresh
from coach.hearing.notes.legato import LegatoSteps
from coach.hearing.notes.manner import MANNERS
from coach.hearing.notes.memory import OPENING_S, SoundMemory
from coach.hearing.notes.sounding import SAME, SETTLED_S, Sounding
from coach.hearing.onsets import SLIGHT_STRENGTH, Onset, OnsetDetector
from coach.hearing.tracker import Source
from coach.music import PerformedNote, Span
from coach.music.tuning_system import A4_HZ, hz_to_midi, midi_to_hz

CORRECTION_S = 0.150
"""A claim may be corrected within this time of the note's start, never later."""
_BLUR_S, _BEFORE_S = 0.032, 0.1
"""Frames this long before an onset tell what rang before it; later ones are blurred by what came."""
_HEARD_FROM = 0.5
"""Frames with less confidence draw the pitch thread but make no notes."""
_CORRECTION_SUPPORT = 0.8
_SETTLE_FRAMES, _SETTLE_CENTS, _WRONG_SIDE = 3, 30.0, 0.55
"""So many frames this close together, further than this (semitones) from the claim, correct it."""
_RECENT_FRAMES = 20
_MOST_AWAY = 8
"""More frames off the note than any manner asks for; a hum may stay off it for hours."""
_FIRST_RISE_DB = 6.0
"""After silence a pitch rises out of the room by more than this; an old one that merely beats does not."""
_AFTER_DIP_S, _AROUND_DIP_S = 0.056, 0.12


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
        self._detector = OnsetDetector(SLIGHT_STRENGTH)
        self._memory = SoundMemory(a4_hz)
        self._doubt = Doubt(source, a4_hz)
        self._decided_s = 0.0
        self._onsets: list[Onset] = []
        self._candidate: Candidate | None = None
        self._mark: Onset | None = None
        self._away: list[PitchFrame] = []
        self._note: Sounding | None = None
        self._silent = 0
        self._recent: deque[PitchFrame] = deque(maxlen=_RECENT_FRAMES)
        self._steps = LegatoSteps()
        self._loudness = Loudness(self._manner.below_db)
        self._again = StruckAgain(self._memory, self._manner, self._loudness, a4_hz)
        self._events: list[NoteEvent] = []

    def push(self, frames: tuple[F0Frame, ...], samples: NDArray[np.float32]) -> tuple[NoteEvent, ...]:
        """Take the next samples at 16 kHz and the frames that they completed; give what follows from them."""
        self._memory.push(samples)
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
        heard = f0.f0_hz is not None and f0.confidence >= _HEARD_FROM
        pitch = hz_to_midi(f0.f0_hz, self._a4_hz) if heard and f0.f0_hz is not None else None
        frame = PitchFrame(f0.time_s, pitch, f0.confidence, f0.decided_s)
        self._decided_s = f0.decided_s
        while self._onsets and self._onsets[0].time_s <= frame.time_s:
            if self._manner.plucked:
                self._herald(self._onsets.pop(0))
            else:
                self._mark = self._onsets.pop(0)
        if self._candidate is not None:
            self._heralded(frame, self._candidate)
        else:
            self._unheralded(frame)
        self._recent.append(frame)
        note = self._note
        if note is not None and self._doubt.due(note.looks, self._memory.end_s - note.start_s):
            note.looks += 1
            note.loudest_db = note.loudest_db or self._memory.loudest_db(note.start_s)
            if not self._stands(note, self._memory.end_s, last=note.looks == len(LOOKS_S)):
                self._note = None
                self._silent = 0

    def _stands(self, note: Sounding, until_s: float, *, last: bool) -> bool:
        """Whether a young note is one after all, by its sound so far; withdraws it where it is none."""
        stands = self._doubt.stands(
            self._memory, list(self._recent), note.start_s, note.centre, until_s, last=last
        )
        if not stands:
            self._events.append(NoteWithdrawn(note.start_s, self._decided_s))
        return stands

    def _herald(self, onset: Onset) -> None:
        """An onset: remember what sounded before it, as heard in frames that do not reach beyond it."""
        before = [
            frame.pitch
            for frame in self._recent
            if frame.pitch is not None and _BLUR_S <= onset.time_s - frame.time_s <= _BEFORE_S
        ]
        self._candidate = Candidate(onset, float(np.median(before)) if before else None)
        self._away = []

    def _heralded(self, frame: PitchFrame, candidate: Candidate) -> None:
        """A frame after an onset whose note is not decided yet."""
        onset = candidate.onset
        note = self._note
        if note is not None and frame.pitch is not None and abs(frame.pitch - note.centre) <= SAME:
            note.last_s = frame.time_s
        if frame.time_s - onset.time_s < SKIP_S:
            return
        fresh = self._memory.fresh(onset.time_s)
        if fresh is None:
            return
        found = candidate.claim(frame, fresh, self._manner)
        if found is not None and self._counts(found, onset, fresh):
            self._decide(candidate, found, frame)
        elif (again := self._again.softly(candidate, frame, fresh, found, note)) is not None:
            self._decide(candidate, again, frame)
        elif frame.time_s - onset.time_s > PATIENCE_S:
            self._candidate = None
        elif found is not None and (candidate.weighed or candidate.old is None):
            self._candidate = None
            if note is not None and frame.pitch is not None and abs(frame.pitch - note.centre) <= SAME:
                self._continue(note, frame)

    def _counts(self, found: Claim, onset: Onset, fresh: Fresh) -> bool:
        """Whether what was found is a note: what sounded already must have been struck again."""
        if found.again or (self._note is not None and abs(found.pitch - self._note.centre) <= SAME):
            return self._again.surely(onset, fresh, found.pitch, self._note)
        return self._began(onset.time_s) and self._loudness.is_players(fresh.level_db, onset.time_s)

    def _decide(self, candidate: Candidate, found: Claim, frame: PitchFrame) -> None:
        self._candidate = None
        heard = [f for f in candidate.frames if f.pitch is not None and abs(f.pitch - found.pitch) <= SAME]
        self._begin(candidate.onset.time_s, found.pitch, found.confidence, frame.decided_s, heard)

    def _began(self, start_s: float) -> bool:
        """Whether a sound began at a moment: what is there when the stream opens may go on from before."""
        return start_s >= OPENING_S or self._memory.opens_with_attack()

    def _unheralded(self, frame: PitchFrame) -> None:
        note = self._note
        step = self._steps.push(frame)
        if frame.pitch is None:
            self._away = []
            self._silent += 1
            if note is not None and self._silent >= self._manner.silent_frames:
                self._end(None)
            return
        self._silent = 0
        if step is not None and note is not None and not self._manner.plucked:
            self._begin(step.start_s, step.pitch, frame.confidence, frame.decided_s, list(step.frames))
            return
        if note is not None and abs(frame.pitch - note.centre) * 100 <= self._manner.leave_cents:
            self._continue(note, frame)
            self._sing_again(note, frame)
            return
        self._away = [*self._away[1 - _MOST_AWAY :], frame]
        if note is not None and frame.time_s - note.start_s <= CORRECTION_S:
            self._correct(note, frame)
            return
        needed = self._manner.unheralded_frames if note is None else self._manner.change_frames
        if self._agree(needed):
            self._slur(note, self._away[-needed:])

    def _sing_again(self, note: Sounding, frame: PitchFrame) -> None:
        """A voice that dips and comes back on the same pitch sings a new note."""
        mark = self._mark
        if mark is None or frame.time_s - mark.time_s < _AFTER_DIP_S:
            return
        self._mark = None
        if mark.time_s - note.start_s < _AFTER_DIP_S:
            return
        dip_db = min(self._memory.level_db(mark.time_s + shift_s) for shift_s in (-0.04, -0.02, 0.0))
        around_db = min(
            self._memory.level_db(mark.time_s - _AROUND_DIP_S), self._memory.level_db(frame.time_s)
        )
        if around_db - dip_db >= self._manner.dip_db:
            self._begin(mark.time_s, note.centre, frame.confidence, frame.decided_s, [frame])

    def _start_s(self, run: list[PitchFrame]) -> float:
        """Where a pitch without an onset of its own began: at the mark just before it, if there is one."""
        start_s = max(0.0, run[0].time_s - FRAME_S / 2)
        if self._mark is not None and 0.0 <= start_s - self._mark.time_s <= _AFTER_DIP_S:
            start_s, self._mark = self._mark.time_s, None
        return start_s

    def _slur(self, note: Sounding | None, run: list[PitchFrame]) -> None:
        """A pitch has come without an onset: a note if its partials have grown."""
        start_s = self._start_s(run)
        pitch = _mean(run)
        f0_hz = midi_to_hz(pitch, self._a4_hz)
        now_db = self._memory.partials_db(f0_hz, run[-1].time_s)
        grown_db = now_db - self._memory.partials_db(f0_hz, start_s - 0.06)
        least_db = self._manner.rise_db if note is not None else _FIRST_RISE_DB
        grown = grown_db >= least_db and self._began(start_s) and not self._thumps(note, start_s, pitch)
        if not grown and note is not None:
            note.last_s = run[-1].time_s
        elif grown and self._loudness.is_players(now_db + 6.0, start_s):
            confidence = float(np.mean([f.confidence for f in run]))
            self._begin(start_s, pitch, confidence, run[-1].decided_s, run)

    def _thumps(self, note: Sounding | None, start_s: float, pitch: float) -> bool:
        """Whether a pitch that comes out of silence is that of a bump."""
        fresh = self._memory.fresh(start_s) if note is None else None
        if fresh is None or not (self._manner.plucked or fresh.fading_db_per_s > FAST_DB_PER_S):
            return False
        return thumps(fresh, pitch)

    def _continue(self, note: Sounding, frame: PitchFrame) -> None:
        self._away = []
        if frame.pitch is not None:
            if self._manner.beats and note.blended(frame.pitch):
                note.last_s = frame.time_s
                return
            if frame.time_s - note.start_s <= SETTLED_S[1]:
                note.pitches.append((frame.time_s, frame.pitch))
            note.last_s = frame.time_s
            note.centre += 0.15 * (frame.pitch - note.centre)
            self._reconsider(note, frame)

    def _reconsider(self, note: Sounding, frame: PitchFrame) -> None:
        """A young note that settled on the other side of the quarter tone was claimed too early."""
        last = [pitch for _, pitch in note.pitches[-_SETTLE_FRAMES:]]
        young = frame.time_s - note.start_s <= CORRECTION_S
        if not young or len(last) < _SETTLE_FRAMES or 100 * (max(last) - min(last)) > _SETTLE_CENTS:
            return
        pitch = float(np.mean(last))
        if abs(pitch - note.midi) > _WRONG_SIDE:
            self._change(note, pitch, frame, note.pitches[-_SETTLE_FRAMES:])

    def _correct(self, note: Sounding, frame: PitchFrame) -> None:
        """A young note whose frames agree on another pitch, which is new in the sound."""
        if not self._agree(2):
            return
        run = self._away[-2:]
        pitch = _mean(run)
        fresh = self._memory.fresh(note.start_s)
        if fresh is not None and fresh.support(pitch) >= _CORRECTION_SUPPORT:
            self._away = []
            self._change(note, pitch, frame, [(f.time_s, f.pitch) for f in run if f.pitch is not None])

    def _change(
        self, note: Sounding, pitch: float, frame: PitchFrame, pitches: list[tuple[float, float]]
    ) -> None:
        note.midi = round(pitch)
        note.centre = pitch
        note.decided_s = frame.decided_s
        note.pitches = pitches
        self._events.append(
            NoteCorrected(note.start_s, note.midi, 100 * (pitch - note.midi), frame.decided_s)
        )

    def _agree(self, count: int) -> bool:
        if len(self._away) < count:
            return False
        pitches = [frame.pitch for frame in self._away[-count:] if frame.pitch is not None]
        return 100 * (max(pitches) - min(pitches)) <= self._manner.agree_cents

    def _begin(
        self, start_s: float, pitch: float, confidence: float, decided_s: float, heard: list[PitchFrame]
    ) -> None:
        before = None if self._note is None else self._note.centre
        self._end(start_s)
        self._away = []
        self._steps.clear()
        self._silent = 0
        midi = round(pitch)
        last_s = heard[-1].time_s if heard else start_s + FRAME_S
        self._note = Sounding(start_s, midi, midi, confidence, decided_s, last_s, pitch)
        self._note.before = before
        told = [(f.time_s, f.pitch) for f in heard if f.pitch is not None]
        self._note.pitches = [
            each for each in told if not (self._manner.beats and self._note.blended(each[1]))
        ]
        self._events.append(NoteBegan(start_s, midi, 100 * (pitch - midi), confidence, decided_s))

    def _end(self, at_s: float | None) -> None:
        """End the note under way, at a moment or where it was last heard; or withdraw it."""
        note, self._note = self._note, None
        self._silent = 0
        if note is None:
            return
        young = note.looks < len(LOOKS_S)
        if young and not self._stands(note, self._memory.end_s if at_s is None else at_s, last=True):
            return
        end_s = note.last_s + FRAME_S / 2
        if at_s is not None:
            end_s = min(end_s, at_s)
        span = Span(note.start_s, max(end_s, note.start_s + FRAME_S))
        cents = 100 * (note.settled() - note.midi)
        self._events.append(
            NoteEnded(PerformedNote(span, note.midi, cents, note.confidence, note.first_midi, note.decided_s))
        )


def _mean(frames: list[PitchFrame]) -> float:
    return float(np.mean([frame.pitch for frame in frames if frame.pitch is not None]))
