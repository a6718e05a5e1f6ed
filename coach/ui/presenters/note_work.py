"""The note in question at the workbench: found, placed, asked about, changed."""

from fractions import Fraction

from coach.music import Pitch
from coach.notation import LineKind, Note, Place
from coach.pieces.hints import Hint
from coach.pieces.verdicts import Outcome, Verdict
from coach.practice.piece_state import PieceState
from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.line_desk import LineDesk
from coach.ui.presenters.piece_view import name_of
from coach.ui.presenters.workbench_view import HINT_WORDS

HALF = Fraction(1, 2)


class NoteWork:
    """What is done with single notes of one line of one section; knows no screen.

    Parameters
    ----------
    journal
        For the piece as it stands.
    desk
        Writes the line.
    settings
        Tuning and names.

    Attributes
    ----------
    chosen
        Onset of the place that is worked on, in quarters.
    candidate, place
        The note in question (MIDI), and where it was tapped; ``None`` without one.
    said
        What was heard, answered or wrong, in words.
    """

    def __init__(self, journal: Journal, desk: LineDesk, settings: Settings) -> None:
        self._journal, self.desk, self._settings = journal, desk, settings
        self.checks: CheckDesk | None = None
        self.verdicts: dict[tuple[LineKind, Fraction], Verdict] = {}
        self.chosen = Fraction(0)
        self.candidate: int | None = None
        self.place: tuple[int, int] | None = None
        self.said = ""

    # --- where --------------------------------------------------------------------------------------------

    @property
    def note(self) -> Note | None:
        """The note at the chosen place."""
        return self.desk.line.at(self.chosen)

    @property
    def asked(self) -> bool:
        """Whether the recording was asked about it."""
        return (self.desk.kind, self.chosen) in self.verdicts

    def go_to_the_end(self) -> None:
        """Choose the first place after the last note."""
        state, notes = self.desk.state, self.desk.line.notes
        self.chosen = notes[-1].end if notes and notes[-1].end < state.end else state.onset

    def choose(self, onset: Fraction) -> None:
        """Work at another place."""
        note = self.desk.line.at(onset)
        self.chosen = note.onset if note is not None else onset
        verdict = self.verdicts.get((self.desk.kind, self.chosen))
        self.candidate, self.place = None, None
        self.said = verdict.sentence if verdict else ""

    def step(self, by: int) -> None:
        """Go on or back by half a beat."""
        state = self.desk.state
        wanted = self.chosen + by * self.piece.meter.beat * HALF
        self.choose(min(max(wanted, state.onset), state.end - HALF))

    # --- which note ---------------------------------------------------------------------------------------

    def tap(self, string: int, fret: int) -> None:
        """A place on the neck was tapped: its note is the one in question."""
        capo = self.piece.key.capo if self.piece.key else 0
        self.propose(self._settings.tuning[6 - string] + capo + fret, place=(string, fret))

    def type_note(self, text: str) -> None:
        """A note's name was typed; ``NoteNameError`` if it is none."""
        self.propose(Pitch.parse(text.strip().replace(" ", "")).midi)

    def propose(self, midi: int, *, place: tuple[int, int] | None = None, heard: bool = False) -> None:
        """Take a note for the one in question; nothing while the line is settled."""
        if self.desk.settled:
            return
        self.candidate, self.place = midi, place
        name = name_of(midi, self.piece, self._settings.naming)
        self.said = f"I heard you: {name}." if heard else f"{name}."

    def write(self) -> None:
        """Write the note in question at the chosen place."""
        midi = self.candidate
        if midi is None:
            return
        at = Place(*self.place) if self.place else None
        note = self.desk.place(self.chosen, self._length, midi, at=at)
        self.verdicts.pop((self.desk.kind, note.onset), None)
        self.candidate, self.said = None, ""

    # --- asking -------------------------------------------------------------------------------------------

    def check(self) -> None:
        """Ask the recording about the note at the chosen place."""
        note = self.note
        if note is None or self.checks is None:
            return
        verdict = self.checks.check(self.desk.kind, note.onset, note.duration, note.midi)
        self.verdicts[self.desk.kind, note.onset] = verdict
        self.said = verdict.sentence
        if verdict.outcome is Outcome.HEARD and note.end < self.desk.state.end:
            self.chosen = note.end

    def check_all(self) -> None:
        """Ask about every note that was not asked about."""
        for note in self.desk.line:
            if (self.desk.kind, note.onset) not in self.verdicts and self.checks is not None:
                verdict = self.checks.check(self.desk.kind, note.onset, note.duration, note.midi)
                self.verdicts[self.desk.kind, note.onset] = verdict
        heard, count = self.heard, len(self.desk.line)
        self.said = f"Heard: {heard} of {count} notes."

    @property
    def heard(self) -> int:
        """How many notes were heard by the recording."""
        onsets = {note.onset for note in self.desk.line}
        return sum(v.outcome is Outcome.HEARD and at in onsets for (_, at), v in self.verdicts.items())

    def hint(self) -> None:
        """Take the next step of the ladder for the note at the chosen place; noted, never a cost."""
        note = self.note
        if note is not None and self.checks is not None:
            self.said = self._hint_words(
                self.checks.hint(self.desk.kind, note.onset, note.duration, note.midi)
            )

    @property
    def hint_button(self) -> str | None:
        """Words of the next hint, ``None`` where none is of use."""
        note, verdict = self.note, self.verdicts.get((self.desk.kind, self.chosen))
        if note is None or self.checks is None or verdict is None or verdict.outcome is Outcome.HEARD:
            return None
        step = self.checks.next_step(self.desk.kind, note.onset)
        return HINT_WORDS[step] if step is not None else None

    def _hint_words(self, hint: Hint) -> str:
        if hint.midi is not None:
            return f"It is {name_of(hint.midi, self.piece, self._settings.naming)}."
        if hint.within_a_tone is not None:
            return "It lies within two frets." if hint.within_a_tone else "It is further than two frets away."
        if hint.direction is not None:
            return f"It is {hint.direction.value} in sound."
        return "This recording does not tell."

    # --- changing -----------------------------------------------------------------------------------------

    def lengthen(self, by: Fraction) -> None:
        """Make the note at the chosen place longer or shorter."""
        note = self.note
        if note is not None and note.duration + by > 0:
            self._forget_answer()
            self.desk.place(note.onset, note.duration + by, note.midi, at=note.place)

    def octave(self, by: int) -> None:
        """Put the note at the chosen place an octave higher or lower."""
        note = self.note
        if note is not None:
            self._forget_answer()
            self.desk.octave(note, by)

    def all_octaves(self, by: int) -> None:
        """Put the whole line an octave higher or lower: a voice sings where it is comfortable."""
        self.verdicts.clear()
        self.desk.move_octaves(by)
        self.said = ""

    def remove(self) -> None:
        """Take the note at the chosen place out."""
        note = self.note
        if note is not None:
            self._forget_answer()
            self.desk.remove(note)

    def say(self, syllable: str) -> None:
        """Put words under the note at the chosen place."""
        note = self.note
        if note is not None:
            self.desk.say(note, syllable.strip())

    def undo(self) -> None:
        """Take the last change back."""
        self._forget_answer()
        self.desk.undo()

    def redo(self) -> None:
        """Do again what was taken back."""
        self._forget_answer()
        self.desk.redo()

    def _forget_answer(self) -> None:
        """What was answered about this place counts no more."""
        self.verdicts.pop((self.desk.kind, self.chosen), None)
        self.said = ""

    @property
    def piece(self) -> PieceState:
        """The piece in hand."""
        piece = self._journal.progress.piece
        if piece is None:
            raise ValueError("the workbench is open without a piece")
        return piece

    @property
    def _length(self) -> Fraction:
        """Length of a new note: a bass note lasts its bar, a melody note its beat."""
        piece = self.piece
        if self.desk.kind is LineKind.BASS:
            into = (self.chosen - piece.pickup) % piece.meter.bar
            return piece.meter.bar - into
        return piece.meter.beat
