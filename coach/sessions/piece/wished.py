"""What the player wants of the hand: between the log, which knows notes by their onset, and the solver."""

from collections.abc import Iterable, Iterator

from coach.fretboard import NoteId, NoteWish, Tuning, Wishes
from coach.notation import Arrangement, Line, LineKind, Place
from coach.practice.events import HandWished, NoteWished
from coach.practice.piece_state import PieceState, SectionState


def wishes_of(wished: HandWished | None, arrangement: Arrangement, tuning: Tuning) -> Wishes:
    """What was wanted last, for the lines as they are now.

    A note that is gone has nothing left to want; a place where it would have another pitch (another key,
    capo or tuning was chosen since) is forgotten, its finger is not.
    """
    if wished is None:
        return Wishes()
    found = (_wish(each, arrangement, tuning) for each in wished.notes)
    notes = tuple(wish for wish in found if wish is not None)
    return Wishes(notes, wished.below_fret, wished.no_barre)


def wished_event(
    piece: str, section: str, arrangement: Arrangement, wishes: Wishes, by: str = "choice"
) -> HandWished:
    """What is wanted now, for the log."""
    notes = tuple(_record(wish, arrangement) for wish in wishes.notes)
    return HandWished(piece, section, notes, wishes.below_fret, wishes.no_barre, by)


def settled_wishes(piece: PieceState, arrangement: Arrangement, names: Iterable[str] | None = None) -> Wishes:
    """The fingers that were settled with the lines, as wishes; their places the notes carry themselves.

    Parameters
    ----------
    piece
        What the log knows.
    arrangement
        The lines of some of its sections, as `arrangement_of` joins them.
    names
        Which sections; all by default.
    """
    sections = [each for each in piece.sections if names is None or each.name in set(names)]
    return Wishes(tuple(_settled(sections, arrangement)))


def _settled(sections: Iterable[SectionState], arrangement: Arrangement) -> Iterator[NoteWish]:
    for section in sections:
        for kind in LineKind:
            line = arrangement.line(kind)
            for record in section.line(kind.value).notes:
                index = _index(line, record.onset)
                if record.finger is not None and index is not None:
                    yield NoteWish(NoteId(kind, index), finger=record.finger)


def _index(line: Line, onset: object) -> int | None:
    return next((index for index, note in enumerate(line) if note.onset == onset), None)


def _wish(wished: NoteWished, arrangement: Arrangement, tuning: Tuning) -> NoteWish | None:
    kind = LineKind(wished.line)
    line = arrangement.line(kind)
    index = _index(line, wished.onset)
    if index is None:
        return None
    place = None
    if wished.string is not None and wished.fret is not None:
        sounding = tuning.open_midi(wished.string) + arrangement.capo + wished.fret
        place = Place(wished.string, wished.fret) if sounding == line.notes[index].midi else None
    if place is None and wished.finger is None:
        return None
    return NoteWish(NoteId(kind, index), place, wished.finger)


def _record(wish: NoteWish, arrangement: Arrangement) -> NoteWished:
    note = arrangement.line(wish.note.line).notes[wish.note.index]
    string, fret = (wish.place.string, wish.place.fret) if wish.place else (None, None)
    return NoteWished(wish.note.line.value, note.onset, string, fret, wish.finger)
