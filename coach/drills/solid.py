"""From all that was heard to what was meant: slides, doubled starts and stray tails are no answers."""

from collections.abc import Sequence
from dataclasses import replace
from statistics import median

from coach.drills.kinds import By
from coach.music.performed import PerformedNote
from coach.music.span import Span

LEAST_CONFIDENCE = 0.3
"""The ear’s own doubt: below it (0 to 1) a note is not counted at all."""
LEAST_S = {By.VOICE: 0.09, By.GUITAR: 0.045}
"""Shorter than these nothing is sung or plucked on purpose. Common practice, no source."""
_STRAY_SHARE, _STRAY_S = 0.45, 0.22
"""Where too many notes were heard, those much shorter than the rest (than this share of their median), and
short at all, are strays."""
_SAME_GAP_S = 0.08
"""A voice that breaks off for less and comes back on the same note sang one note."""
_RING_GAP_S = 0.03
"""An earlier note that comes back without a gap after a short one was never struck again: it rings on."""
_CLEARLY_CENTS = 60.0
"""Beyond the quarter tone by more than a fretting finger bends a string by accident."""


def solid_notes(notes: Sequence[PerformedNote], by: By, wanted: int) -> tuple[PerformedNote, ...]:
    """The notes that count as the answer, in order of time.

    Parameters
    ----------
    notes
        All that was heard.
    by
        Who was heard.
    wanted
        How many notes are expected: only where more were heard are strays taken away, the shortest first.
        Before that, for the guitar, what rings on of an earlier string; after it, for the voice, notes of one
        pitch without a gap are joined.
    """
    kept = meant_notes(notes, by)
    if by is By.GUITAR and len(kept) > wanted:
        kept = _without_rings(kept)
    while len(kept) > wanted:
        stray = likely_stray(kept)
        if stray is None:
            break
        kept.remove(stray)
    if by is By.VOICE and len(kept) > wanted:
        kept = _joined(kept, len(kept) - wanted)
    return tuple(kept)


def meant_notes(notes: Sequence[PerformedNote], by: By) -> list[PerformedNote]:
    """The notes that are long and clear enough to be meant, in order of time."""
    return [
        note
        for note in sorted(notes, key=lambda note: note.span)
        if note.confidence >= LEAST_CONFIDENCE and note.span.length_s >= LEAST_S[by]
    ]


def likely_stray(notes: Sequence[PerformedNote]) -> PerformedNote | None:
    """The shortest note, where it is so short beside the others (or alone) that it is likely none."""
    if not notes:
        return None
    shortest = min(notes, key=lambda note: note.span.length_s)
    length_s = shortest.span.length_s
    others = [note.span.length_s for note in notes if note is not shortest]
    if length_s > _STRAY_S or (others and length_s > _STRAY_SHARE * median(others)):
        return None
    return shortest


def settled(note: PerformedNote, by: By) -> PerformedNote:
    """A note named by where it settled.

    A voice slides into its notes; a fretted note counts as its nearest semitone, and is named anew only where
    it lies clearly nearer to another.
    """
    if by is By.GUITAR and abs(note.cents) <= _CLEARLY_CENTS:
        return note
    moved = round(note.cents / 100.0)
    return replace(note, midi=note.midi + moved, cents=note.cents - 100.0 * moved)


def _without_rings(notes: list[PerformedNote]) -> list[PerformedNote]:
    """A short note between two of one pitch: the string before rings on, and it was the short one's turn."""
    out = notes[:1]
    for note in notes[1:]:
        if len(out) >= 2 and _rings_on(out[-2], out[-1], note):
            out[-1] = replace(out[-1], span=Span(out[-1].span.start_s, note.span.end_s))
        else:
            out.append(note)
    return out


def _rings_on(before: PerformedNote, short: PerformedNote, note: PerformedNote) -> bool:
    gap_s = note.span.start_s - short.span.end_s
    return note.midi == before.midi and short.span.length_s <= _STRAY_S and gap_s <= _RING_GAP_S


def _joined(notes: list[PerformedNote], most: int) -> list[PerformedNote]:
    """Neighbours of one pitch with hardly a gap become one, ``most`` times at most."""
    out = notes[:1]
    for note in notes[1:]:
        last = out[-1]
        if most > 0 and note.midi == last.midi and note.span.start_s - last.span.end_s < _SAME_GAP_S:
            out[-1] = replace(last, span=Span(last.span.start_s, max(last.span.end_s, note.span.end_s)))
            most -= 1
        else:
            out.append(note)
    return out
