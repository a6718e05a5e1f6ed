"""Writing one line of one section: every change is in the log before it shows."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from coach.errors import LineError, ScopeError
from coach.notation import Line, LineKind, Note, Place
from coach.practice.events import KeyChosen, LineReopened, LineSettled, LineWritten, NoteRecord
from coach.practice.piece_state import Cell, SectionState
from coach.sessions.journal import Journal
from coach.sessions.piece.material import key_of, line_of, record_of, section_of
from coach.sessions.piece.rhythm import rhythm_made


class LineDesk:
    """The melody or the bass of one section of the piece in hand.

    Parameters
    ----------
    journal
        Where every change goes at once: nothing is lost by a crash.
    section
        The section's name.
    kind
        Which line.
    """

    def __init__(self, journal: Journal, section: str, kind: LineKind) -> None:
        self._journal = journal
        self._section = section
        self._kind = kind
        self._undone: list[Line] = []
        self._done: list[Line] = []
        self._read: tuple[tuple[tuple[NoteRecord, ...], KeyChosen | None], Line] | None = None
        """The line, and what of the log it was read from: a screen asks for it many times."""

    @property
    def kind(self) -> LineKind:
        """Which line is written."""
        return self._kind

    @property
    def section(self) -> str:
        """The section's name."""
        return self._section

    @property
    def state(self) -> SectionState:
        """The section as the log has it."""
        return section_of(self._journal.piece_in_hand, self._section)

    @property
    def line(self) -> Line:
        """The line as written so far, on the piece's axis of quarters."""
        piece = self._journal.piece_in_hand
        written = (section_of(piece, self._section).line(self._kind.value).notes, piece.key)
        if self._read is None or self._read[0] != written:
            self._read = (written, line_of(piece, self._section, self._kind))
        return self._read[1]

    @property
    def settled(self) -> bool:
        """Whether the line is good enough for now; it must be reopened before it is changed."""
        return self.state.line(self._kind).cell is Cell.SETTLED

    def place(
        self,
        onset: Fraction,
        duration: Fraction,
        midi: int,
        *,
        at: Place | None = None,
        long: bool | None = None,
        by: str = "tap",
    ) -> Note:
        """Write a note; what it overlaps gives way.

        Raises
        ------
        LineError
            If the note does not lie in the section.
        ScopeError
            If the line is settled.
        """
        note = Note(onset, duration, key_of(self._journal.piece_in_hand).spell(midi), at, long=long)
        if not self.state.onset <= onset < self.state.end:
            raise LineError(f"The note {note} lies outside section {self._section}: place it in a bar of it.")
        if note.end > self.state.end:
            note = replace(note, duration=self.state.end - onset)
        self._keep(self.line.placed(note), by)
        return note

    def write(self, notes: Sequence[Note], *, by: str) -> None:
        """Put captured notes in the place of what was written where they lie."""
        line = self.line
        for note in notes:
            if self.state.onset <= note.onset < self.state.end:
                line = line.placed(replace(note, duration=min(note.duration, self.state.end - note.onset)))
        self._keep(line, by)

    def remove(self, note: Note) -> None:
        """Take a note out."""
        self._keep(self.line.without(note), "tap")

    def move(self, note: Note, onset: Fraction) -> Note:
        """Put a note at another time, with its length."""
        rest = self.line.without(note)
        moved = replace(note, onset=onset)
        if not self.state.onset <= onset < self.state.end:
            raise LineError(f"The note {moved} lies outside section {self._section}: keep it in a bar of it.")
        moved = replace(moved, duration=min(moved.duration, self.state.end - onset))
        self._keep(rest.placed(moved), "tap")
        return moved

    def octave(self, note: Note, octaves: int) -> Note:
        """Put a note so many octaves higher (lower below zero)."""
        changed = replace(note, pitch=note.pitch.octaves_higher(octaves), place=None)
        self._keep(self.line.without(note).placed(changed), "tap")
        return changed

    def move_octaves(self, octaves: int) -> None:
        """Put the whole line so many octaves higher."""
        moved = (replace(note, pitch=note.pitch.octaves_higher(octaves), place=None) for note in self.line)
        self._keep(Line.of(self._kind, moved), "tap")

    def say(self, note: Note, syllable: str | None) -> Note:
        """Put words under a note, or take them away."""
        changed = replace(note, syllable=syllable or None)
        self._keep(self.line.without(note).placed(changed), "tap")
        return changed

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to take back."""
        return bool(self._done)

    @property
    def can_redo(self) -> bool:
        """Whether there is a change to do again."""
        return bool(self._undone)

    def undo(self) -> None:
        """Take back the last change made here; nothing happens without one."""
        if self._done:
            before = self._done.pop()
            self._undone.append(self.line)
            self._log(before, "undo")

    def redo(self) -> None:
        """Do again what was taken back."""
        if self._undone:
            after = self._undone.pop()
            self._done.append(self.line)
            self._log(after, "undo")

    def settle(self, open_questions: int = 0) -> None:
        """Call the line good enough for now; ``ScopeError`` for an empty line.

        Where the recording has no beats, the second line settled puts both into beats.
        """
        if not len(self.line):
            raise ScopeError("There is no note in this line yet: find one first.")
        self._journal.write(
            LineSettled(self._journal.piece_in_hand.piece, self._section, self._kind.value, open_questions)
        )
        made = rhythm_made(self._journal.piece_in_hand, self._section)
        if made is not None:
            self._journal.write(made)

    def reopen(self) -> None:
        """Change a settled line again; ``ScopeError`` the third time."""
        self._journal.write(LineReopened(self._journal.piece_in_hand.piece, self._section, self._kind.value))

    def _keep(self, line: Line, by: str) -> None:
        before = self.line
        self._log(line, by)
        self._done.append(before)
        self._undone.clear()

    def _log(self, line: Line, by: str) -> None:
        records = tuple(record_of(note) for note in line)
        self._journal.write(
            LineWritten(self._journal.piece_in_hand.piece, self._section, self._kind.value, records, by)
        )
