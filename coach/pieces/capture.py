"""Capture: what the player sang or played, written down on the beat grid.

Onsets are placed by dynamic programming: every heard note takes a place of the chosen grid so that the notes
keep their order and the sum of two prices is least, the squared timing error and the price of an unusual
place. That is the maximum a posteriori reading of a performance with normal timing errors, as in Cemgil,
Desain and Kappen, "Rhythm quantization for transcription", Computer Music Journal 24 (2), 2000; the numbers
are ours.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from statistics import median

from coach.music import BeatGrid, Key, Meter, PerformedNote
from coach.notation import Line, LineKind, Note
from coach.pieces.key_of_line import key_of_line


class Feel(StrEnum):
    """How beats divide."""

    STRAIGHT = "straight"
    SWING = "swing"
    TRIPLET = "triplet"


PLACES: dict[Feel, dict[Fraction, float]] = {
    Feel.STRAIGHT: {Fraction(0): 0.0, Fraction(1, 2): 0.6, Fraction(1, 4): 2.6, Fraction(3, 4): 2.2},
    Feel.SWING: {Fraction(0): 0.0, Fraction(2, 3): 0.6},
    Feel.TRIPLET: {Fraction(0): 0.0, Fraction(1, 3): 0.9, Fraction(2, 3): 0.6},
}
"""Places within a quarter, each with its price (a negative log probability). Common practice, no source:
beats are likelier than halves, halves than sixteenths, a sixteenth before the beat than one after it."""
TIMING_S = 0.045
"""Standard deviation of onsets: human timing of 25 ms, as much again for a voice's slow start (ours)."""
MOST_LATE_S = 0.09
"""A player or singer may be late or early as a whole by up to this; it is taken out before placing (ours)."""
TOO_SHORT_S = 0.05
"""Shorter notes are noises of the finger or the throat (ours)."""
MISSED_PRICE = 9.0
"""Price of leaving a heard note out, so that two notes never crowd into one place (ours)."""
GAP_SHARE = 0.45
"""A note is written up to the next one unless silence fills more than this share of the way."""
REACH = Fraction(1)
"""How far from where it was heard a note may be placed, in quarters."""


@dataclass(frozen=True, slots=True)
class Captured:
    """A written line and how it came about.

    Parameters
    ----------
    line
        The notes, onset 0 at the start of the upbeat if there is one.
    key, meter
        As given or found.
    pickup
        Length of the upbeat in quarters.
    first_quarter
        Where onset 0 of the line lies on the grid: 0, or below it by the upbeat or by whole bars.
    late_s
        How late the player was as a whole, in seconds; negative is early.
    left_out
        Heard notes for which there was no place.
    """

    line: Line
    key: Key
    meter: Meter
    pickup: Fraction
    first_quarter: Fraction
    late_s: float
    left_out: tuple[PerformedNote, ...]


def capture(
    heard: Sequence[PerformedNote],
    grid: BeatGrid,
    *,
    kind: LineKind,
    meter: Meter,
    key: Key | None = None,
    feel: Feel = Feel.STRAIGHT,
) -> Captured:
    """Write heard notes down.

    Parameters
    ----------
    heard
        In order of onset, times on the grid's axis.
    grid
        Quarter 0 is the first beat of the first full bar; earlier notes make an upbeat.
    key
        For spelling; found from the notes where ``None``.
    """
    notes = [note for note in heard if note.span.length_s >= TOO_SHORT_S]
    key = key or key_of_line((note.midi, note.span.length_s) for note in notes)
    if not notes:
        return Captured(Line(kind), key, meter, Fraction(0), Fraction(0), 0.0, ())
    late_s = _late_s(notes, grid, feel)
    places = _place(notes, grid, feel, late_s)
    kept = [(note, place) for note, place in zip(notes, places, strict=True) if place is not None]
    left_out = tuple(note for note, place in zip(notes, places, strict=True) if place is None)
    before = _before(kept[0][1], meter)
    written = [
        Note(onset + before, length, key.spell(note.midi))
        for (note, onset), length in zip(kept, _durations(kept, grid, feel, late_s), strict=True)
    ]
    return Captured(Line(kind, tuple(written)), key, meter, before % meter.bar, -before, late_s, left_out)


def _late_s(notes: Sequence[PerformedNote], grid: BeatGrid, feel: Feel) -> float:
    """How late all notes are in common: the median distance to the nearest likely place, twice refined."""
    late_s = 0.0
    likely = [place for place, price in PLACES[feel].items() if price < 1.0]
    for _ in range(2):
        distances = [
            note.span.start_s - grid.second_of(_nearest(grid.quarter_of(note.span.start_s - late_s), likely))
            for note in notes
        ]
        late_s = max(-MOST_LATE_S, min(MOST_LATE_S, median(distances)))
    return late_s if len(notes) >= 3 else 0.0


def _nearest(quarter: float, places: Sequence[Fraction]) -> Fraction:
    whole = math.floor(quarter)
    return min(
        (beat + place for beat in (whole - 1, whole, whole + 1) for place in places),
        key=lambda place: abs(float(place) - quarter),
    )


@dataclass(slots=True)
class _State:
    """The cheapest way to have placed all notes so far with the last one here."""

    price: float
    place: Fraction | None
    before: "_State | None"
    skipped: bool = False


def _place(
    notes: Sequence[PerformedNote], grid: BeatGrid, feel: Feel, late_s: float
) -> list[Fraction | None]:
    """The place of every note, ``None`` for a note left out (Viterbi)."""
    states: list[_State] = [_State(0.0, None, None)]
    for note in notes:
        after: list[_State] = [
            _State(state.price + MISSED_PRICE, state.place, state, skipped=True) for state in states
        ]
        for place, price in _candidates(note, grid, feel, late_s):
            earlier = [state for state in states if state.place is None or state.place < place]
            if earlier:
                best = min(earlier, key=lambda state: state.price)
                after.append(_State(best.price + price, place, best))
        states = _thinned(after)
    return _path(min(states, key=lambda state: state.price))


def _candidates(
    note: PerformedNote, grid: BeatGrid, feel: Feel, late_s: float
) -> list[tuple[Fraction, float]]:
    start_s = note.span.start_s - late_s
    quarter = grid.quarter_of(start_s)
    found = []
    for beat in range(math.floor(quarter - REACH), math.ceil(quarter + REACH) + 1):
        for place, price in PLACES[feel].items():
            at = beat + place
            if abs(float(at) - quarter) <= REACH:
                error = (grid.second_of(at) - start_s) / TIMING_S
                found.append((at, price + 0.5 * error * error))
    return found


def _thinned(states: list[_State]) -> list[_State]:
    """Of several states with the same last place only the cheapest can be on the best way."""
    best: dict[Fraction | None, _State] = {}
    for state in states:
        if state.place not in best or state.price < best[state.place].price:
            best[state.place] = state
    return list(best.values())


def _path(state: _State) -> list[Fraction | None]:
    path: list[Fraction | None] = []
    while state.before is not None:
        path.append(None if state.skipped else state.place)
        state = state.before
    return path[::-1]


def _before(first: Fraction, meter: Meter) -> Fraction:
    """Quarters to write before quarter 0: whole beats for an upbeat, whole bars once it fills a bar."""
    if first >= 0:
        return Fraction(0)
    beats = -(first // meter.beat) * meter.beat
    return beats if beats < meter.bar else -(first // meter.bar) * meter.bar


def _durations(
    kept: Sequence[tuple[PerformedNote, Fraction]], grid: BeatGrid, feel: Feel, late_s: float
) -> list[Fraction]:
    """Written lengths: up to the next note unless a clear rest is heard, else the nearest simple length."""
    lengths = []
    for (note, onset), (_, following) in pairwise(kept):
        room = following - onset
        sounded = grid.quarter_of(note.span.end_s - late_s) - float(onset)
        legato = sounded >= float(room) * (1 - GAP_SHARE) or room <= Fraction(1, 2)
        lengths.append(room if legato else min(_simple(sounded, feel), room))
    last, onset = kept[-1]
    lengths.append(_simple(grid.quarter_of(last.span.end_s - late_s) - float(onset), feel))
    return lengths


def _simple(quarters: float, feel: Feel) -> Fraction:
    """The nearest usual note length, at least the smallest of the grid."""
    step = Fraction(1, 2) if feel is Feel.STRAIGHT else Fraction(1, 3)
    usual = [step, Fraction(1), Fraction(3, 2), Fraction(2), Fraction(3), Fraction(4)]
    return min(usual, key=lambda length: abs(math.log(max(quarters, 0.1) / float(length))))
