"""A recording without a steady beat: its notes by order, long or short; and the simple rhythm made of them.

Until both lines of a section are found, a quarter of the piece's grid is a second, a note lies where it lies
in the recording, and only says whether it is long or short. Then the order is put into beats, long notes of
two and short ones of one, and the grid gets an anchor at every note: each is still asked about where it lies.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from coach.music import BeatGrid, Key, Meter, PerformedNote
from coach.notation import Line, Note
from coach.pieces.capture import TOO_SHORT_S

STEP = Fraction(1, 8)
"""Finest time that a heard note is placed at, in seconds: off by a sixteenth of a second at most."""
LONG_RATIO = math.sqrt(2.0)
"""Two groups of lengths are long and short if they differ by more: half way from 1:1 to 1:2 (ours)."""
CONNECTED = 0.5
"""A note that sounds for less of the way to the next one is followed by a rest (ours)."""
LONG, SHORT = Fraction(2), Fraction(1)
"""Beats of long and short notes once they are put into beats (ours: the simplest there is)."""
NEAR = Fraction(1, 4)
"""A bass note this near to one of the tune, as a share of the way to the next one, sounds with it (ours)."""


def long_or_short(lengths: Sequence[float]) -> list[bool]:
    """Which of some lengths are long: two groups, split where they differ most.

    Parameters
    ----------
    lengths
        Above zero, any unit.

    Notes
    -----
    The split has the largest variance between the groups, of the logarithms, after Otsu, "A threshold
    selection method from gray-level histograms", IEEE Transactions on Systems, Man, and Cybernetics 9 (1),
    1979. Where both groups are alike, all are short.
    """
    logs = sorted(math.log(length) for length in lengths)
    best, parting = 0.0, math.inf
    for count in range(1, len(logs)):
        low, high = sum(logs[:count]) / count, sum(logs[count:]) / (len(logs) - count)
        between = count * (len(logs) - count) * (high - low) ** 2
        if between > best and high - low > math.log(LONG_RATIO):
            best, parting = between, (logs[count - 1] + logs[count]) / 2.0
    return [math.log(length) > parting for length in lengths]


def free_notes(heard: Sequence[PerformedNote], grid: BeatGrid, key: Key) -> list[Note]:
    """Heard notes in their order, each where it lies in the recording, long or short.

    Parameters
    ----------
    heard
        In order of onset, times on the grid's axis.
    grid
        Of a piece without beats.
    key
        For spelling.
    """
    notes = [note for note in heard if note.span.length_s >= TOO_SHORT_S]
    onsets = [Fraction(round(grid.quarter_of(note.span.start_s) / STEP)) * STEP for note in notes]
    found: list[Note] = []
    for index, (note, onset, is_long) in enumerate(zip(notes, onsets, _long(notes), strict=True)):
        end = Fraction(round(grid.quarter_of(note.span.end_s) / STEP)) * STEP
        following = onsets[index + 1] if index + 1 < len(onsets) else end
        length = max(STEP, min(end, max(following, onset + STEP)) - onset)
        at = max(onset, found[-1].end if found else Fraction(0), Fraction(0))
        found.append(Note(at, length, key.spell(note.midi), long=is_long))
    return found


def _long(notes: Sequence[PerformedNote]) -> list[bool]:
    """By the way to the next note, or by what a note sounds where a rest follows."""
    lengths = []
    for note, after in pairwise(notes):
        way = after.span.start_s - note.span.start_s
        lengths.append(way if note.span.length_s >= CONNECTED * way else note.span.length_s)
    lengths += [note.span.length_s for note in notes[-1:]]
    return long_or_short(lengths)


@dataclass(frozen=True, slots=True)
class SimpleRhythm:
    """Both lines of a section in beats.

    Parameters
    ----------
    melody, bass
        As many notes as before, in the same order.
    end
        Where the section ends now: a full bar.
    anchors
        Pairs of musical times: in beats, and where that lay before.
    """

    melody: Line
    bass: Line
    end: Fraction
    anchors: tuple[tuple[Fraction, Fraction], ...]


def simple_rhythm(melody: Line, bass: Line, start: Fraction, meter: Meter) -> SimpleRhythm:
    """Put the order of both lines into beats: two for a long note of the tune, one for a short one.

    A bass note sounds with the tune's note that it is near to, else in the middle of it.

    Raises
    ------
    ValueError
        If the tune has no notes.
    """
    if not len(melody):
        raise ValueError("a rhythm is made of a tune's notes")
    lengths = [LONG if note.long else SHORT for note in melody]
    at = [start + sum(lengths[:index], Fraction(0)) for index in range(len(lengths) + 1)]
    tune = [
        replace(note, onset=onset, duration=length, long=None)
        for note, onset, length in zip(melody, at, lengths, strict=False)
    ]
    below = _under(melody, bass, at)
    last = max(at[-1], below[-1] + SHORT if below else at[-1])
    end = start - -(last - start) // meter.bar * meter.bar
    ends = [*below[1:], max(at[-1], below[-1] + SHORT if below else at[-1])]
    low = [
        replace(note, onset=onset, duration=until - onset, long=None)
        for note, onset, until in zip(bass, below, ends, strict=False)
    ]
    anchors = {onset: note.onset for onset, note in zip(below, bass, strict=True)}
    anchors |= {onset: note.onset for onset, note in zip(at, melody, strict=False)}
    rising: list[tuple[Fraction, Fraction]] = []
    for onset, before in sorted(anchors.items()):
        if not rising or before > rising[-1][1]:
            rising.append((onset, before))
    return SimpleRhythm(Line(melody.kind, tuple(tune)), Line(bass.kind, tuple(low)), end, tuple(rising))


def _under(melody: Line, bass: Line, at: Sequence[Fraction]) -> list[Fraction]:
    """Where the bass notes come, in beats: in order, each later than the one before."""
    found: list[Fraction] = []
    onsets = [note.onset for note in melody]
    for note in bass:
        index = max((i for i, onset in enumerate(onsets) if onset <= note.onset), default=0)
        following = onsets[index + 1] if index + 1 < len(onsets) else melody.notes[index].end
        way = max(following - onsets[index], STEP)
        share = (note.onset - onsets[index]) / way
        length = at[index + 1] - at[index]
        place = at[index] if share < NEAR else at[index + 1] if share > 1 - NEAR else at[index] + length / 2
        found.append(max(place, found[-1] + SHORT / 2) if found else place)
    return found
