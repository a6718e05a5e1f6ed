"""What may be done in a section: depth first, two lines of one note at a time, two reopenings."""

from collections.abc import Sequence
from itertools import pairwise

from coach.errors import ScopeError
from coach.practice.events import (
    HandWished,
    HintTaken,
    LineReopened,
    LineSettled,
    LineWritten,
    NoteChecked,
    NoteRecord,
    NoteWished,
    PlayedSettled,
    PlayedThrough,
    SectionEvent,
    TogetherSettled,
)
from coach.practice.piece_state import Cell, PieceState, SectionState

LINES = ("melody", "bass")
STRINGS = range(1, 7)
FINGERS = range(1, 5)


def may_work(piece: PieceState, event: SectionEvent) -> ScopeError | None:
    """Whether an event of a section may come next."""
    if isinstance(event, PlayedThrough) and event.section is None:
        return None
    section = piece.section(event.section)
    if section is None:
        return ScopeError(f"There is no section “{event.section}” in this piece: choose one from its map.")
    return _depth_first(piece, section) or _of_section(piece, section, event)


def _of_section(piece: PieceState, section: SectionState, event: SectionEvent) -> ScopeError | None:
    match event:
        case LineWritten() | LineSettled() | LineReopened():
            return _one_of_two(event.line) or _of_line(piece, section, event)
        case NoteChecked() | HintTaken():
            return _one_of_two(event.line)
        case HandWished():
            return _of_wishes(section, event)
        case TogetherSettled() if Cell.SETTLED is not section.melody.cell or (
            Cell.SETTLED is not section.bass.cell
        ):
            return ScopeError("Both lines come first: settle the melody and the bass of this section.")
        case PlayedSettled() if section.together is not Cell.SETTLED:
            return ScopeError("First settle how both lines lie under the hand, then how they are played.")
        case _:
            return None


def _of_wishes(section: SectionState, event: HandWished) -> ScopeError | None:
    if not (section.melody.notes and section.bass.notes):
        return ScopeError("Both lines come first: find the melody and the bass of this section.")
    if event.below_fret is not None and event.below_fret < 1:
        return ScopeError("A hand can stay below fret 1 or a higher one: choose another fret.")
    return next((refused for note in event.notes if (refused := _of_wish(note))), None)


def _of_wish(note: NoteWished) -> ScopeError | None:
    """A place is a string with a fret; a finger is one of four, or none for an open string."""
    placed = note.string is not None and note.fret is not None
    if placed != (note.string is not None or note.fret is not None):
        return ScopeError("A place on the neck is a string and a fret: choose both.")
    if placed and not (note.string in STRINGS and (note.fret or 0) >= 0):
        return ScopeError(f"There is no string {note.string}, fret {note.fret}: choose a place on the neck.")
    if note.finger is not None and note.finger not in FINGERS:
        return ScopeError(f"There is no finger {note.finger}: choose 1 to 4.")
    return _one_of_two(note.line)


def _depth_first(piece: PieceState, section: SectionState) -> ScopeError | None:
    waiting = before_beginning(piece, section)
    if waiting is None:
        return None
    return ScopeError(
        f"Section {waiting.name} comes first: get it played, then begin section {section.name}."
    )


def before_beginning(piece: PieceState, section: SectionState) -> SectionState | None:
    """The section that has to be good enough before an untouched one may be begun."""
    if section.begun:
        return None
    earlier = piece.sections[: piece.sections.index(section)]
    return next((each for each in earlier if not each.good_enough), None)


def _one_of_two(line: str) -> ScopeError | None:
    if line in LINES:
        return None
    return ScopeError("An arrangement has two lines, melody and bass: note a third for next time.")


def _of_line(
    piece: PieceState, section: SectionState, event: LineWritten | LineSettled | LineReopened
) -> ScopeError | None:
    line = section.line(event.line)
    match event:
        case LineWritten(notes=notes):
            if line.cell is Cell.SETTLED and not same_line(line.notes, notes):
                return ScopeError("This line is good enough for now: reopen it if it must be changed.")
            return one_at_a_time(piece, section, event.line, notes)
        case LineSettled():
            return None if line.notes else ScopeError("There is no note in this line yet: find one first.")
        case LineReopened():
            return _may_reopen(piece, line.cell, line.reopenings)


def _may_reopen(piece: PieceState, cell: Cell, reopenings: int) -> ScopeError | None:
    if cell is not Cell.SETTLED:
        return ScopeError("This line is open already: change it as you like.")
    if reopenings >= piece.most_reopenings:
        return ScopeError(
            f"This line was reopened {reopenings} times: leave it as it is, and note what you would change "
            "for next time."
        )
    return None


def same_line(old: Sequence[NoteRecord], new: Sequence[NoteRecord]) -> bool:
    """Whether two lines have the same notes, though they may lie otherwise: octave, place, length, and key.

    A single note has no key to be moved with: it must keep its name.
    """
    if [note.onset for note in old] != [note.onset for note in new]:
        return False
    steps = {(b.midi - a.midi) % 12 for a, b in zip(old, new, strict=True)}
    return steps <= {0} or (len(steps) == 1 and len(old) > 1)


def one_at_a_time(
    piece: PieceState, section: SectionState, line: str, notes: tuple[NoteRecord, ...]
) -> ScopeError | None:
    """Whether a section's line, if written so, keeps one note at a time over the whole piece."""
    for note in notes:
        if not section.onset <= note.onset < section.end or note.duration <= 0:
            return ScopeError(f"A note at quarter {note.onset} does not lie in section {section.name}.")
    others = [note for each in piece.sections if each.name != section.name for note in each.line(line).notes]
    ordered = sorted([*others, *notes], key=lambda note: note.onset)
    for before, after in pairwise(ordered):
        if before.onset + before.duration > after.onset:
            return ScopeError(
                f"In the {line} two notes would sound at once at quarter {after.onset}: a line has one note "
                "at a time; put a further one onto the list for next time."
            )
    return None
