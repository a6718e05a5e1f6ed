"""Asking the recording about written notes, and the hint ladder, in words."""

from collections.abc import Iterable
from fractions import Fraction

from coach.notation import LineKind, Note
from coach.pieces.hints import Hint, HintStep
from coach.pieces.verdicts import Outcome, Verdict
from coach.practice.events import LoggedEvent
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.line_desk import LineDesk
from coach.ui.presenters.naming import Names
from coach.ui.presenters.workbench_view import HINT_WORDS

LADDER_WORDS = (
    "You have asked about six notes here. A hint may help: first which way, then how near, then the note. "
    "It is noted, never a cost."
)
REVEAL_QUESTION = "Show you the note? Your own ear may find it yet; if you want to see it, say yes."


class NoteAsking:
    """Questions about the notes of one line; what was answered stays with a note until it is changed.

    Parameters
    ----------
    desk
        Holds the line.
    names
        Names notes on the screen.

    Attributes
    ----------
    checks
        Answers from the recording; ``None`` until it is open.
    confirming
        Whether “Show me the note” waits for its yes.
    """

    def __init__(self, desk: LineDesk, names: Names) -> None:
        self._desk, self._names = desk, names
        self.checks: CheckDesk | None = None
        self.confirming = False
        self._verdicts: dict[tuple[Fraction, Fraction, int], Verdict] = {}

    def recall(self, events: Iterable[LoggedEvent]) -> None:
        """Bring back what the log has of earlier questions."""
        if self.checks is None:
            return
        line = self._desk.line
        for (kind, onset), verdict in self.checks.recall(events).items():
            note = line.at(onset)
            if kind is self._desk.kind and note is not None:
                self._verdicts[_key(note)] = verdict

    def answer(self, note: Note | None) -> Verdict | None:
        """What was answered about a note, ``None`` before it was asked."""
        return self._verdicts.get(_key(note)) if note is not None else None

    @property
    def marks(self) -> dict[tuple[LineKind, Fraction], Verdict]:
        """The answers about the line as it is written now."""
        found = {(self._desk.kind, note.onset): self.answer(note) for note in self._desk.line}
        return {place: verdict for place, verdict in found.items() if verdict is not None}

    @property
    def heard(self) -> int:
        """How many notes of the line the recording was heard to hold."""
        return sum(verdict.outcome is Outcome.HEARD for verdict in self.marks.values())

    def unasked(self, but: Note | None = None) -> int:
        """How many notes were not asked about, leaving one aside."""
        return sum(self.answer(note) is None and note != but for note in self._desk.line)

    @property
    def open_questions(self) -> int:
        """How many notes were never heard by a check."""
        return len(self._desk.line) - self.heard

    def check(self, note: Note) -> str:
        """Ask about one note; the answer in words."""
        if self.checks is None:
            return ""
        kind = self._desk.kind
        self.confirming = False
        verdict = self.checks.check(kind, note.onset, note.duration, note.midi)
        self._verdicts[_key(note)] = verdict
        offered = verdict.outcome is not Outcome.HEARD and self.checks.ladder_offered(kind, note.onset)
        return f"{verdict.sentence} {LADDER_WORDS}" if offered and self._next(note) else verdict.sentence

    def check_next(self) -> bool:
        """Ask about the first note that was not asked about yet; false when there is none."""
        note = next((note for note in self._desk.line if self.answer(note) is None), None)
        if note is None or self.checks is None:
            return False
        self.check(note)
        return True

    @property
    def summary(self) -> str:
        """How many notes are heard, in words."""
        heard, count = self.heard, len(self._desk.line)
        if heard == count:
            return "All notes are heard."
        rest = count - heard
        return f"Heard: {heard} of {count} notes. {rest} {'is' if rest == 1 else 'are'} marked."

    def button(self, note: Note | None) -> str | None:
        """Words of the next hint, ``None`` where none is of use."""
        verdict = self.answer(note)
        if note is None or verdict is None or verdict.outcome is Outcome.HEARD or self.confirming:
            return None
        step = self._next(note)
        return HINT_WORDS[step] if step is not None else None

    def hint(self, note: Note) -> str:
        """Take the next step of the ladder, or ask once before the last; what it says, in words."""
        if self._next(note) is HintStep.REVEAL and not self.confirming:
            self.confirming = True
            return REVEAL_QUESTION
        self.confirming = False
        if self.checks is None:
            return ""
        return self._words(self.checks.hint(self._desk.kind, note.onset, note.duration, note.midi))

    def _next(self, note: Note) -> HintStep | None:
        return self.checks.next_step(self._desk.kind, note.onset) if self.checks is not None else None

    def _words(self, hint: Hint) -> str:
        if hint.midi is not None:
            return f"It is {self._names.of(hint.midi)}."
        if hint.step is HintStep.REVEAL:
            return "This recording does not tell."
        if hint.within_a_tone is not None:
            return "It lies within two frets." if hint.within_a_tone else "It is further than two frets away."
        if hint.direction is not None:
            return f"It is {hint.direction.value} in sound."
        return "This recording does not tell."


def _key(note: Note) -> tuple[Fraction, Fraction, int]:
    return note.onset, note.duration, note.midi
