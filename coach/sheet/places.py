"""The places that a TAB staff gives, handed to the notes of the lines."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.notation.note import Note, Place


@dataclass(frozen=True, slots=True)
class TabNote:
    """A note of a TAB staff: when, what sounds, which voice of its staff (counted from 0), where."""

    onset: Fraction
    midi: int
    voice: int
    place: Place


def with_places(lines: Sequence[Sequence[Note]], tab: Iterable[TabNote]) -> list[list[Note]]:
    """The notes of both lines with the places of the tablature, matched by onset and sounding pitch.

    A place goes to the line of the same voice number first, then to whichever line still lacks one: only in
    a unison can both want it. Places that stand beside the notes themselves are kept.
    """
    left = list(tab)
    placed = [list(line) for line in lines]
    for same_voice in (True, False):
        by_time: dict[tuple[Fraction, int], list[TabNote]] = {}
        for tab_note in left:
            by_time.setdefault((tab_note.onset, tab_note.midi), []).append(tab_note)
        for voice, line in enumerate(placed):
            for index, note in enumerate(line):
                fitting = by_time.get((note.onset, note.midi), ())
                found = next((t for t in fitting if not same_voice or t.voice == voice), None)
                if note.place is None and found is not None:
                    line[index] = replace(note, place=found.place)
                    by_time[note.onset, note.midi].remove(found)
        left = [tab_note for rest in by_time.values() for tab_note in rest]
    return placed
