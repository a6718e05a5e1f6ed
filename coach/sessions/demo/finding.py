"""Finding one line of one section in the demonstration: heard, written, checked, mended by hints."""

from dataclasses import dataclass

from coach.hearing.engines import PitchEngine
from coach.hearing.listening import listen
from coach.hearing.tracker import Source
from coach.music import PerformedNote
from coach.notation import LineKind, Note
from coach.pieces.hints import Direction
from coach.pieces.verdicts import Outcome, Verdict
from coach.sessions.demo.learner import SimulatedLearner, Take
from coach.sessions.journal import Journal
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.line_desk import LineDesk
from coach.sessions.piece.phrase_capture import written

MOST_TRIES = 8


@dataclass(frozen=True, slots=True)
class Found:
    """What became of a line: notes written, heard at once, mended, and left as open questions."""

    notes: int
    heard_at_once: int
    mended: int
    open_questions: int


class Finder:
    """Leads the simulated learner through one line.

    Parameters
    ----------
    journal
        The log.
    learner
        Sings and plays; nothing else about it is asked.
    engine
        Hears what it sings.
    """

    def __init__(self, journal: Journal, learner: SimulatedLearner, engine: PitchEngine) -> None:
        self._journal = journal
        self._learner = learner
        self._engine = engine

    def find(self, section: str, kind: LineKind, checks: CheckDesk) -> Found:
        """Hear a take of the line, write it down, check every note, mend what is not heard, settle."""
        desk = LineDesk(self._journal, section, kind)
        state = desk.state
        take = self._learner.line(kind, state.onset, state.end)
        desk.write(self._written(take, kind), by="sung" if kind is LineKind.MELODY else "played")
        verdicts = {note: self._check(checks, kind, note) for note in desk.line}
        wrong = [note for note, verdict in verdicts.items() if verdict.outcome is not Outcome.HEARD]
        mended = sum(self._mended(desk, checks, note, verdicts[note]) for note in wrong)
        desk.settle(len(wrong) - mended)
        return Found(len(desk.line), len(verdicts) - len(wrong), mended, len(wrong) - mended)

    def _written(self, take: Take, kind: LineKind) -> list[Note]:
        piece = self._journal.progress.piece
        return written(piece, kind, self._heard(take, kind)) if piece is not None else []

    def _heard(self, take: Take, kind: LineKind) -> tuple[PerformedNote, ...]:
        source: Source = "voice" if kind is LineKind.MELODY else "guitar"
        heard = listen(take.samples, take.rate_hz, engine=self._engine, source=source)
        return heard.notes

    def _mended(self, desk: LineDesk, checks: CheckDesk, note: Note, verdict: Verdict) -> bool:
        """Put a wrong note right as a learner would: the octave when told so, else by trying next to it."""
        if verdict.outcome is Outcome.OTHER_OCTAVE:
            return any(self._tried(desk, checks, note, note.midi + 12 * by) for by in (1, -1))
        if verdict.outcome is Outcome.CANNOT_TELL:
            return False
        hint = checks.hint(desk.kind, note.onset, note.duration, note.midi)
        up = hint.direction is not Direction.LOWER
        for distance in range(1, MOST_TRIES):
            if self._tried(desk, checks, note, note.midi + (distance if up else -distance)):
                return True
        return False

    def _tried(self, desk: LineDesk, checks: CheckDesk, note: Note, midi: int) -> bool:
        """Play another note, hear it, ask about it, and write it if it is the one."""
        kind = desk.kind
        heard = self._heard(self._learner.one_note(midi, kind), kind)
        if not heard:
            return False
        answer = checks.check(kind, note.onset, note.duration, heard[0].midi)
        if answer.outcome is not Outcome.HEARD:
            return False
        desk.place(note.onset, note.duration, heard[0].midi, by="played")
        return True

    @staticmethod
    def _check(checks: CheckDesk, kind: LineKind, note: Note) -> Verdict:
        return checks.check(kind, note.onset, note.duration, note.midi)
