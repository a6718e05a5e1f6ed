"""Asking the recording: is this the note? And the hint ladder, when the player wants it."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from coach.errors import ScopeError
from coach.hearing.evidence import EvidenceModel, PitchEvidence, SettledNote, evidence
from coach.music import Span
from coach.notation import Arrangement, LineKind
from coach.pieces.hints import Hint, HintStep, hint, ladder_offered, next_step
from coach.pieces.verdicts import Outcome, Verdict, holds_longer, judge, judge_by_reference
from coach.practice.events import HintTaken, LoggedEvent, NoteChecked
from coach.practice.piece_state import Cell, PieceState
from coach.sessions.journal import Journal
from coach.sessions.piece.bass_times import bass_changes
from coach.sessions.piece.material import grid_of, line_of, recorded_midi, section_of, span_of
from coach.sessions.piece.recalled import Asked, place_key, recalled
from coach.sessions.piece.reference import reference_notes
from coach.sessions.ports import Jobs
from coach.sessions.recordings import AnalysedRecording

OTHER_LINE = {LineKind.MELODY: LineKind.BASS, LineKind.BASS: LineKind.MELODY}


class CheckDesk:
    """Answers about the notes of one section, from the recording; every question is logged.

    Parameters
    ----------
    journal
        Where questions are noted.
    recording
        The piece's recording, analysed.
    model
        The evidence model.
    section
        The section's name.
    reference
        A teacher's lines: what they say is exact. They may be simpler than the recording, so a note that they
        do not hold is still asked of the recording.
    """

    def __init__(
        self,
        journal: Journal,
        recording: AnalysedRecording,
        model: EvidenceModel,
        section: str,
        reference: Arrangement | None = None,
    ) -> None:
        self._reference = reference
        self._journal = journal
        self._recording = recording
        self._model = model
        self._section = section
        self._asked: dict[tuple[LineKind, int], Asked] = {}

    def recall(self, events: Iterable[LoggedEvent]) -> Mapping[tuple[LineKind, Fraction], Verdict]:
        """Remember what was asked here before, and give the answers about notes that still stand so.

        Parameters
        ----------
        events
            Of the log, in order, from the day on which the piece was chosen.
        """
        duration_s = self._recording.analysis.duration_s
        before = recalled(events, self._journal.piece_in_hand, self._section, duration_s)
        self._asked = dict(before.asked)
        return before.verdicts

    def check(self, kind: LineKind, onset: Fraction, duration: Fraction, midi: int) -> Verdict:
        """Is ``midi`` what the line holds there? An octave above the bass is right, too."""
        piece = self._journal.piece_in_hand
        found = self._evidence(piece, kind, onset, duration)
        verdict = self._judged(found, piece, kind, midi)
        self._of(kind, onset).notes.add(midi)
        self._journal.write(
            NoteChecked(
                piece.piece,
                self._section,
                kind.value,
                found.span.start_s,
                found.span.end_s,
                midi,
                verdict.outcome.value,
                verdict.nearby.value if verdict.nearby else None,
                round(verdict.confidence, 4),
            )
        )
        return verdict

    def bass_changes(self, jobs: Jobs) -> tuple[Fraction, ...]:
        """Beats inside bars at which the bass changes, see `coach.sessions.piece.bass_times`."""
        piece = self._journal.piece_in_hand

        def asked(onset: Fraction, duration: Fraction) -> PitchEvidence:
            return self._evidence(piece, LineKind.BASS, onset, duration)

        return bass_changes(piece, section_of(piece, self._section), asked, jobs)

    def ladder_offered(self, kind: LineKind, onset: Fraction) -> bool:
        """Whether so many notes were asked here that the ladder is offered."""
        return ladder_offered(self._of(kind, onset).notes)

    def next_step(self, kind: LineKind, onset: Fraction) -> HintStep | None:
        """The next step of the ladder here, ``None`` after the last."""
        return next_step(self._of(kind, onset).steps)

    def hint(self, kind: LineKind, onset: Fraction, duration: Fraction, midi: int) -> Hint:
        """Take the next step of the ladder for the player's note; it is noted, never a cost."""
        piece = self._journal.piece_in_hand
        asked = self._of(kind, onset)
        step = next_step(asked.steps) or HintStep.REVEAL
        found = self._evidence(piece, kind, onset, duration)
        shift = midi - recorded_midi(piece, kind, midi)
        answer = hint(found, midi - shift, step)
        asked.steps.add(step)
        self._journal.write(
            HintTaken(
                piece.piece,
                self._section,
                kind.value,
                found.span.start_s,
                found.span.end_s,
                midi,
                step.value,
            )
        )
        revealed = None if answer.midi is None else answer.midi + shift
        return replace(answer, asked_midi=midi, midi=revealed)

    def _judged(self, found: PitchEvidence, piece: PieceState, kind: LineKind, midi: int) -> Verdict:
        by_ear = self._by_ear(found, piece, kind, midi)
        if self._reference is None:
            return by_ear
        notes = reference_notes(self._reference, kind, grid_of(piece))
        exact = judge_by_reference(kind, found.span, notes, recorded_midi(piece, kind, midi))
        if exact.outcome is Outcome.CANNOT_TELL:
            return by_ear
        # A simplified reference never fails a true note: what is heard counts, and where the teacher holds
        # one note over several, the recording has to say no as well.
        denied = by_ear.outcome is Outcome.NOT_HEARD or not holds_longer(notes, found.span)
        if exact.outcome not in {Outcome.HEARD, by_ear.outcome} and (
            by_ear.outcome is Outcome.HEARD or not denied
        ):
            return by_ear
        return replace(exact, midi=midi)

    def _by_ear(self, found: PitchEvidence, piece: PieceState, kind: LineKind, midi: int) -> Verdict:
        verdict = judge(found, recorded_midi(piece, kind, midi))
        if kind is LineKind.BASS and verdict.outcome is Outcome.OTHER_OCTAVE:
            raised = judge(found, recorded_midi(piece, kind, midi), register_octaves=1)
            if raised.outcome is Outcome.HEARD:
                verdict = raised
        return replace(verdict, midi=midi)

    def _evidence(
        self, piece: PieceState, kind: LineKind, onset: Fraction, duration: Fraction
    ) -> PitchEvidence:
        span = span_of(grid_of(piece), onset, duration)
        end_s = min(span.end_s, self._recording.analysis.duration_s)
        if end_s <= span.start_s:
            raise ScopeError("The recording has ended before this place: choose an earlier one.")
        return evidence(
            self._recording.analysis,
            self._model,
            kind,
            Span(span.start_s, end_s),
            other_line=self._other_line(piece, OTHER_LINE[kind]),
        )

    def _other_line(self, piece: PieceState, kind: LineKind) -> tuple[SettledNote, ...]:
        section = piece.section(self._section)
        if section is None or section.line(kind.value).cell is not Cell.SETTLED:
            return ()
        grid = grid_of(piece)
        return tuple(
            SettledNote(span_of(grid, note.onset, note.duration), recorded_midi(piece, kind, note.midi))
            for note in line_of(piece, self._section, kind)
        )

    def _of(self, kind: LineKind, onset: Fraction) -> Asked:
        start_s = grid_of(self._journal.piece_in_hand).second_of(onset)
        return self._asked.setdefault(place_key(kind, start_s), Asked())
