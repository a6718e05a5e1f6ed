"""Gathering an answer from what the ear hears, until it is complete."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median

from coach.drills.answers import HeardNotes, HeardOnsets
from coach.drills.kinds import AnswerForm, By
from coach.drills.prompt import Prompt
from coach.drills.solid import likely_stray, meant_notes, settled
from coach.hearing.frames import F0Frame
from coach.hearing.notes.events import NoteBegan, NoteCorrected, NoteEnded, NoteEvent, NoteWithdrawn
from coach.hearing.onsets import Onset
from coach.music import PerformedNote, Span
from coach.music.tuning_system import hz_to_midi

HELD_S = {By.VOICE: 0.45, By.GUITAR: 0.20}
"""How long the last note must sound before it is judged. A voice is judged 80 to 400 ms into the note, a
plucked note may be corrected in its first 150 ms (measured with the pitch tracker)."""
JUDGED_FROM_S, JUDGED_TO_S = 0.08, 0.45
"""The part of an unfinished note whose pitch counts: after the slide into it."""
EARLY_S = 0.05
"""A note that began so little before listening still belongs to the answer."""
SPARE_S = 0.8
"""Where one of the notes is likely a stray, one more is waited for. Common practice, no source."""
THINKING_S = 1.0
"""A rhythm is over when nothing follows for its longest gap and so much more. Common practice, no source."""


def longest_gap_s(onsets_s: Sequence[float]) -> float:
    """The longest time from one moment to the next, 0 where there is only one."""
    return max((after - before for before, after in pairwise(onsets_s)), default=0.0)


@dataclass(slots=True)
class _Sounding:
    """A note that has not ended."""

    began: NoteBegan
    midi: int
    cents: list[float] = field(default_factory=list)


class AnswerGatherer:
    """Gathers one answer; times are ear times, given back relative to the start of listening.

    Parameters
    ----------
    prompt
        What was asked.
    since_s
        Ear time at which listening began.
    a4_hz
        The tuning.
    afterwards
        Whether listening began after a prompt that is to be answered along.
    """

    def __init__(self, prompt: Prompt, since_s: float, a4_hz: float, *, afterwards: bool = False) -> None:
        self._prompt = prompt
        self._since_s = since_s
        self._afterwards = afterwards
        self._a4_hz = a4_hz
        self._ended: list[PerformedNote] = []
        self._sounding: _Sounding | None = None
        self._struck: list[Onset] = []
        self._wanted = max(1, len(prompt.midis) or len(prompt.sounding))

    @property
    def strikes(self) -> bool:
        """Whether moments are asked for, not notes."""
        return self._prompt.kind.form is AnswerForm.ONSETS

    def hear(self, events: tuple[NoteEvent, ...], frames: tuple[F0Frame, ...]) -> None:
        """Take what the ear heard next."""
        for event in events:
            self._take(event)
        if self._sounding is not None:
            self._follow(self._sounding, frames)

    def strike(self, onsets: tuple[Onset, ...]) -> None:
        """Take struck moments, ear time."""
        self._struck += [onset for onset in onsets if onset.time_s >= self._since_s - EARLY_S]

    def complete(self, now_s: float) -> bool:
        """Whether the answer can be graded at an ear time."""
        waited_s = now_s - self._since_s
        if waited_s >= self._prompt.window_s:
            return True
        if self.strikes:
            return bool(self._struck) and self._struck_all(waited_s)
        ended, sounding = meant_notes(self._ended, self._prompt.by), self._sounding
        spare = likely_stray(ended) is not None
        if len(ended) >= self._wanted + spare:
            return True
        if sounding is not None:
            held_s = now_s - sounding.began.start_s
            return len(ended) + 1 >= self._wanted + spare and held_s >= HELD_S[self._prompt.by]
        return len(ended) >= self._wanted and now_s - ended[-1].span.end_s > SPARE_S

    def _struck_all(self, waited_s: float) -> bool:
        """Whether nothing more is to come of a rhythm, which may begin whenever the player likes."""
        onsets_s, tolerance_s = self._prompt.onsets_s, self._prompt.measure.onset_s
        if self._prompt.along and not self._afterwards:
            return waited_s > max(onsets_s) + 4 * tolerance_s
        rest_s = tolerance_s if len(self._struck) >= len(onsets_s) else THINKING_S
        since_s = waited_s - (self._struck[-1].time_s - self._since_s)
        return since_s > longest_gap_s(onsets_s) + rest_s

    def answer(self, now_s: float) -> HeardNotes | HeardOnsets:
        """What was heard, a note that still sounds included."""
        if self.strikes:
            times_s = tuple(onset.time_s - self._since_s for onset in self._struck)
            strengths = tuple(onset.strength for onset in self._struck)
            return HeardOnsets(times_s, strengths, afterwards=self._afterwards)
        notes = list(self._ended)
        if self._sounding is not None:
            notes.append(self._unfinished(self._sounding, now_s))
        return HeardNotes(tuple(self._relative(note) for note in notes))

    def _take(self, event: NoteEvent) -> None:
        match event:
            case NoteBegan(start_s=start_s, midi=midi):
                if start_s >= self._since_s - EARLY_S:
                    self._sounding = _Sounding(event, midi)
            case NoteCorrected(midi=midi):
                if self._sounding is not None:
                    self._sounding.midi = midi
            case NoteWithdrawn():
                self._sounding = None
            case NoteEnded(note=note):
                if note.span.start_s >= self._since_s - EARLY_S:
                    self._ended.append(settled(note, self._prompt.by))
                    self._sounding = None

    def _follow(self, sounding: _Sounding, frames: tuple[F0Frame, ...]) -> None:
        start_s = sounding.began.start_s
        for frame in frames:
            into_s = frame.time_s - start_s
            if frame.f0_hz is not None and JUDGED_FROM_S <= into_s <= JUDGED_TO_S:
                sounding.cents.append(100.0 * hz_to_midi(frame.f0_hz, self._a4_hz))

    def _unfinished(self, sounding: _Sounding, now_s: float) -> PerformedNote:
        began = sounding.began
        cents = median(sounding.cents) if sounding.cents else 100.0 * sounding.midi + began.cents
        midi, span = sounding.midi, Span(began.start_s, max(now_s, began.start_s + 0.01))
        off = cents - 100.0 * midi
        note = PerformedNote(span, midi, off, began.confidence, began.midi, began.decided_s)
        return settled(note, self._prompt.by)

    def _relative(self, note: PerformedNote) -> PerformedNote:
        span = Span(note.span.start_s - self._since_s, note.span.end_s - self._since_s)
        return PerformedNote(
            span,
            note.midi,
            note.cents,
            note.confidence,
            note.first_midi,
            note.decided_s - self._since_s,
        )
