"""The note in question at the workbench: hummed, found, placed, changed."""

from dataclasses import replace
from fractions import Fraction

from coach.errors import NoteNameError
from coach.music.naming import Naming
from coach.music.typed import typed_note
from coach.notation import LineKind, Note, Place
from coach.pieces.capture import Feel
from coach.pieces.verdicts import Outcome
from coach.practice.piece_state import PieceState
from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.sessions.piece.line_desk import LineDesk
from coach.ui.presenters.naming import Names
from coach.ui.presenters.note_asking import NoteAsking

STEPS = {Feel.STRAIGHT: Fraction(1, 2), Feel.SWING: Fraction(1, 3), Feel.TRIPLET: Fraction(1, 3)}
"""Finest time that is tapped or stepped to, in quarters."""
FIRST_NOTE = {LineKind.MELODY: 64, LineKind.BASS: 45}
"""A letter means the note nearest to this before there is any (E4 and A2: the middle of where each lies)."""
MIDI_LAST = 127
FREE_STEP, FREE_LENGTH = Fraction(1, 4), Fraction(1, 2)
"""Without beats a quarter is a second: notes are stepped to by the quarter of a second, and asked about for
half a second when they were tapped."""
LONG_WORDS, SHORT_WORDS = "A long note.", "A short note."

_InQuestion = tuple[int | None, tuple[int, int] | None, int | None]
"""The note in question, its place, and the player's own note that is still to be found."""


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
    hummed
        The player's own note that is still to be found on the neck; ``None`` when none is.
    changes
        Times inside bars at which the recording's bass changes, in quarters.
    said
        What was heard, answered or wrong, in words.
    asking
        Questions to the recording.
    """

    def __init__(self, journal: Journal, desk: LineDesk, settings: Settings) -> None:
        self._journal, self.desk, self._settings = journal, desk, settings
        self.names = Names(journal, settings)
        self.asking = NoteAsking(desk, self.names)
        self.chosen = Fraction(0)
        self.changes: tuple[Fraction, ...] = ()
        self.candidate: int | None = None
        self.place: tuple[int, int] | None = None
        self.hummed: int | None = None
        self.said = ""
        self._before: _InQuestion | None = None
        """What was in question before the note heard last."""
        self._unheard: tuple[_InQuestion, _InQuestion | None, str] | None = None
        """That, what was before it, and what was said: all as if the note heard last had never been."""

    # --- where --------------------------------------------------------------------------------------------

    @property
    def note(self) -> Note | None:
        """The note at the chosen place."""
        return self.desk.line.at(self.chosen)

    @property
    def asked(self) -> bool:
        """Whether the recording was asked about it."""
        return self.asking.answer(self.note) is not None

    @property
    def feel(self) -> Feel:
        """How beats divide."""
        grid = self.piece.grid
        return Feel(grid.feel) if grid is not None and grid.feel in set(Feel) else Feel.STRAIGHT

    @property
    def grid(self) -> Fraction:
        """Finest time that is stepped to, in quarters."""
        return FREE_STEP if self.free else STEPS[self.feel]

    @property
    def free(self) -> bool:
        """Whether the section has no beats: notes are long or short."""
        return self.piece.free(self.desk.section)

    def go_to_the_end(self) -> None:
        """Choose the first place after the last note."""
        state, notes = self.desk.state, self.desk.line.notes
        self.chosen = notes[-1].end if notes and notes[-1].end < state.end else state.onset

    def choose(self, onset: Fraction) -> None:
        """Work at another place."""
        note = self.desk.line.at(onset)
        self.chosen = note.onset if note is not None else onset
        verdict = self.asking.answer(note)
        self.drop()
        self.said = verdict.sentence if verdict else ""

    def step(self, by: int) -> None:
        """Go on or back: a note at a time where there is one, else by the finest time."""
        state, note = self.desk.state, self.note
        wanted = note.end if note is not None and by > 0 else self.chosen + by * self.grid
        self.choose(min(max(wanted, state.onset), state.end - self.grid))

    # --- which note ---------------------------------------------------------------------------------------

    def tap(self, string: int, fret: int) -> None:
        """A place on the neck was tapped: its note is the one in question."""
        self.propose(self.names.at(string, fret), place=(string, fret))

    def type_note(self, text: str, naming: Naming | None = None) -> None:
        """A note's name was typed, in the names the player reads; without an octave the nearest is meant.

        Raises
        ------
        NoteNameError
            If it is none.
        """
        midi = typed_note(text, naming or self._settings.naming).pitch_near(self.last).midi
        self._require(midi)
        self.propose(midi)

    def shift(self, by: int) -> None:
        """Take a note so many frets higher (lower below zero) than the one in question for it."""
        now = self._now
        if now is not None:
            self._require(now + by)
            self.propose(now + by)

    def propose(self, midi: int, *, place: tuple[int, int] | None = None) -> None:
        """Take a note for the one in question; nothing while the line is settled."""
        if self.desk.settled:
            return
        self.asking.confirming = False
        self.candidate, self.place, self.hummed = midi, place, None
        self._before, self._unheard = None, None
        self.said = f"{self.names.of(midi)}."

    def hear(self, midi: int) -> None:
        """The player sounded a note: the first is what they hum, the next is where they find it."""
        self._unheard = None
        if self.desk.settled:
            return
        before = (self.candidate, self.place, self.hummed)
        unheard = (before, self._before, self.said)
        hummed, name = self.hummed, self.names.of(midi)
        first = self.candidate is None and self._settings.can_sing
        self.propose(midi)
        self._before, self._unheard = before, unheard
        if first:
            self.hummed = midi
            self.said = f"I heard you: {name}."
        elif hummed is not None and (midi - hummed) % 12:
            self.hummed = hummed
            self.said = f"I heard you: {name}, {_apart(midi - hummed)} than {self.names.of(hummed)} before."
        else:
            again = f"That is it: {name} again." if hummed is not None else f"I heard you: {name}."
            self.said = f"{again} {self.names.where(midi, self.string)}"

    def correct(self, midi: int) -> None:
        """The note heard last is another one after all; nothing where it is not in question any more."""
        if self._before is not None:
            unheard = self._unheard
            self.candidate, self.place, self.hummed = self._before
            self.hear(midi)
            self._unheard = unheard

    def go_on(self, midi: int) -> None:
        """The player went on to another note without a rest: it takes the place of the last one."""
        if self._before is None:
            self.hear(midi)
        else:
            last = ((self.candidate, self.place, self.hummed), self._before, self.said)
            self.correct(midi)
            self._unheard = last

    def unhear(self) -> None:
        """The note heard last was none (a bump): as if it had never been; nothing once the player went on."""
        if self._unheard is not None:
            (self.candidate, self.place, self.hummed), self._before, self.said = self._unheard
            self._unheard = None

    def drop(self) -> None:
        """Let go of the note in question: hum anew."""
        self.candidate, self.place, self.hummed, self.said = None, None, None, ""
        self._before, self._unheard = None, None
        self.asking.confirming = False

    @property
    def string(self) -> int | None:
        """The string of the last note that was placed on the neck: a line is found on one string."""
        placed = [note.place.string for note in self.desk.line if note.place and note.onset <= self.chosen]
        return placed[-1] if placed else None

    @property
    def shown(self) -> tuple[int | None, tuple[int, int] | None]:
        """The note that the neck shows (MIDI), and where."""
        note, midi = self.note, self._now
        if midi is None or (self.hummed is not None and midi == self.hummed):
            return None, None  # what was only hummed is still to be found
        own = (note.place.string, note.place.fret) if self.candidate is None and note and note.place else None
        return midi, self.place or own or self.names.place(midi, self.string)

    def write(self) -> None:
        """Write the note in question at the chosen place."""
        midi = self.candidate
        if midi is None:
            return
        at, old = Place(*self.place) if self.place else None, self.note
        same = old is not None and old.onset == self.chosen
        length = old.duration if old is not None and same else self._length
        is_long = (old.long if old is not None and same else False) if self.free else None
        note = self.desk.place(self.chosen, length, midi, at=at, long=is_long)
        if old is not None and same and old.syllable:
            self.desk.say(note, old.syllable)
        self.drop()

    # --- asking -------------------------------------------------------------------------------------------

    def check(self) -> None:
        """Ask the recording about the note at the chosen place; a heard one leads to the next place."""
        note = self.note
        if note is None:
            return
        self.said = self.asking.check(note)
        verdict = self.asking.answer(note)
        if verdict is not None and verdict.outcome is Outcome.HEARD and note.end < self.desk.state.end:
            self.chosen = note.end

    def check_next(self) -> bool:
        """Ask about one more note that was not asked about; false, and a summary, after the last."""
        more = self.asking.check_next()
        self.said = "" if more else self.asking.summary
        return more

    def hint(self) -> None:
        """Take the next step of the ladder for the note at the chosen place; noted, never a cost."""
        note = self.note
        if note is not None:
            self.said = self.asking.hint(note)

    def not_yet(self) -> None:
        """Do not show the note."""
        self.asking.confirming, self.said = False, ""

    # --- changing -----------------------------------------------------------------------------------------

    def lengthen(self, steps: int) -> None:
        """Make the note at the chosen place longer or shorter by so many of the finest times."""
        note = self.note
        if note is not None and note.duration + steps * self.grid > 0:
            longer = replace(note, duration=note.duration + steps * self.grid)
            self.desk.write([longer], by="tap")
            self.said = ""

    def turn_long(self) -> None:
        """Without beats: make the note at the chosen place a long one, or a short one again."""
        note = self.note
        if note is not None:
            self.desk.write([replace(note, long=not note.long)], by="tap")
            self.said = SHORT_WORDS if note.long else LONG_WORDS

    def move(self, steps: int) -> None:
        """Put the note at the chosen place earlier or later; ``LineError`` beyond the section."""
        note = self.note
        if note is not None:
            self.chosen = self.desk.move(note, note.onset + steps * self.grid).onset
            self.said = ""

    def octave(self, by: int) -> None:
        """Put the note in question, or the one at the chosen place, an octave higher or lower."""
        note = self.note
        if self.candidate is not None:
            self.shift(12 * by)
        elif note is not None:
            self._require(note.midi + 12 * by)
            self.desk.octave(note, by)
            self.said = ""

    def all_octaves(self, by: int) -> None:
        """Put the whole line an octave higher or lower: a voice sings where it is comfortable."""
        for note in self.desk.line:
            self._require(note.midi + 12 * by)
        self.desk.move_octaves(by)
        self.said = ""

    def remove(self) -> None:
        """Let go of the note in question, or take the one at the chosen place out."""
        note = self.note
        if self.candidate is not None:
            self.drop()
        elif note is not None:
            self.desk.remove(note)
            self.said = ""

    def say(self, syllable: str) -> None:
        """Put words under the note at the chosen place."""
        note = self.note
        if note is not None:
            self.desk.say(note, syllable.strip())

    def undo(self) -> None:
        """Take the last change back."""
        self.drop()
        self.desk.undo()

    def redo(self) -> None:
        """Do again what was taken back."""
        self.drop()
        self.desk.redo()

    @property
    def piece(self) -> PieceState:
        """The piece in hand."""
        piece = self._journal.progress.piece
        if piece is None:
            raise ValueError("the workbench is open without a piece")
        return piece

    @property
    def _now(self) -> int | None:
        note = self.note
        return self.candidate if self.candidate is not None else note.midi if note is not None else None

    @property
    def last(self) -> int:
        """The note that a typed letter and the piano keys are near to: that in question, or the last one."""
        before = [note.midi for note in self.desk.line if note.onset < self.chosen]
        return self._now or (before[-1] if before else FIRST_NOTE[self.desk.kind])

    @property
    def _length(self) -> Fraction:
        """Length of a new note: a bass note lasts its bar, or until it changes; a melody note its beat."""
        piece = self.piece
        if self.free:
            return FREE_LENGTH
        if self.desk.kind is LineKind.BASS:
            into = (self.chosen - piece.pickup) % piece.meter.bar
            until = self.chosen + piece.meter.bar - into
            return min([until, *(at for at in self.changes if at > self.chosen)]) - self.chosen
        return piece.meter.beat

    def _require(self, midi: int) -> None:
        if not 0 <= midi <= MIDI_LAST:
            raise NoteNameError("No guitar reaches that far: choose a note within its range.")


def _apart(semitones: int) -> str:
    """How far one note is from another, in words."""
    frets = abs(semitones)
    count = {1: "one fret", 2: "two frets"}.get(frets, f"{frets} frets")
    return f"{count} {'higher' if semitones > 0 else 'lower'}"
