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
USUAL_HABIT, LEAST_HABIT = 0.9, 0.4
"""Share of a note's time for which it usually sounds, and the least that is a habit and no rests (ours)."""
BELIEVED = 3
"""The usual share counts as so many notes: a few notes are no habit yet (ours)."""
HABIT_SPREAD = 0.12
"""Standard deviation of that share, as a natural logarithm (ours)."""
END_S = 0.05
"""Standard deviation of the moment at which a note is heard to end (ours)."""
REST_PRICE = 2.0
"""Price of writing a rest: one note in seven is followed by one (ours)."""
RINGS_ON = 1.8
"""A last note that sounds for less than so many times the rest of its bar only rings on (ours)."""
LEAST_REST = Fraction(1, 3)
"""Shorter silences are a breath or a lifted finger, in quarters (ours)."""
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
        for (note, onset), length in zip(kept, _durations(kept, grid, feel, late_s, meter.bar), strict=True)
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
    kept: Sequence[tuple[PerformedNote, Fraction]], grid: BeatGrid, feel: Feel, late_s: float, bar: Fraction
) -> list[Fraction]:
    """Written lengths: up to the next note unless a rest is clearly heard; the last one to a simple length.

    How much of a note's time a player lets it sound is a habit: what a note sounds is held against that
    habit, so that a detached manner makes no rests (own reading; the numbers are ours).
    """
    sounded = [max(0.05, grid.quarter_of(note.span.end_s - late_s) - float(onset)) for note, onset in kept]
    rooms = [after - onset for (_, onset), (_, after) in pairwise(kept)]
    shares = [length / float(room) for length, room in zip(sounded, rooms, strict=False)]
    habit = min(1.0, max(LEAST_HABIT, median([*shares, *[USUAL_HABIT] * BELIEVED])))
    lengths = []
    for (note, onset), room, length in zip(kept, rooms, sounded, strict=False):
        spread = math.hypot(HABIT_SPREAD, END_S / note.span.length_s)

        def price(written: Fraction, length: float = length, spread: float = spread) -> float:
            return 0.5 * (math.log(length / (float(written) * habit)) / spread) ** 2

        rests = [(price(each) + REST_PRICE, each) for each in _before_rests(onset, room, feel)]
        lengths.append(min([(price(room), room), *rests])[1])
    onset = kept[-1][1]
    lengths.append(_last(onset, sounded[-1] / habit, feel, bar))
    return lengths


def _step(feel: Feel) -> Fraction:
    """The shortest usual note."""
    return Fraction(1, 2) if feel is Feel.STRAIGHT else Fraction(1, 3)


def _before_rests(onset: Fraction, room: Fraction, feel: Feel) -> list[Fraction]:
    """Lengths that leave a rest before the next note: up to a likely place, half a beat of rest at least."""
    likely = [place for place, price in PLACES[feel].items() if price < 1.0]
    beats = range(math.floor(onset), math.ceil(onset + room))
    ends = (beat + place for beat in beats for place in likely)
    return [end - onset for end in ends if _step(feel) <= end - onset <= room - LEAST_REST]


def _last(onset: Fraction, quarters: float, feel: Feel, bar: Fraction) -> Fraction:
    """The last note: as long as it sounds, but a string that rings on does not lead into another bar."""
    step = _step(feel)
    usual = [step, 2 * step, Fraction(1), Fraction(3, 2), Fraction(2), Fraction(3), Fraction(4)]
    rest = bar - onset % bar
    if quarters < RINGS_ON * float(rest):
        usual = [*(length for length in usual if length < rest), rest]
    return min(usual, key=lambda length: abs(math.log(max(quarters, 0.1) / float(length))))
