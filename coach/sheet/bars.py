"""An arrangement laid out in bars: two voices of written values, rests filled in, ties over cuts."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import Note
from coach.notation.section import Section
from coach.sheet.tuplets import Zone, triplet_zones
from coach.sheet.values import UNITS, Value, split, units


@dataclass(frozen=True, slots=True)
class Symbol:
    """One written value of a voice: a note, a tied part of it, or a rest.

    Parameters
    ----------
    start
        Units from the start of the whole bar.
    value
        What is written, with its sounding length.
    note
        ``None`` for a rest.
    tie_stop, tie_start
        Tied to the symbol before, after.
    zone
        The triplet it stands in.
    """

    start: int
    value: Value
    note: Note | None
    tie_stop: bool = False
    tie_start: bool = False
    zone: Zone | None = None

    @property
    def end(self) -> int:
        """Where it stops, units from the start of the whole bar."""
        return self.start + self.value.length


@dataclass(frozen=True, slots=True)
class Voice:
    """One line's part of a bar."""

    kind: LineKind
    symbols: tuple[Symbol, ...]

    @property
    def silent(self) -> bool:
        """Whether it holds rests only."""
        return all(symbol.note is None for symbol in self.symbols)


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar: number (0 for an upbeat), where its music starts in the whole bar, its length, voices, marks."""

    number: int
    first: int
    end: int
    voices: tuple[Voice, ...]
    marks: tuple[tuple[int, Section], ...]


def laid_out(arrangement: Arrangement) -> tuple[Bar, ...]:
    """All bars that notes and section marks need, at least one; the bass only where the piece has one."""
    last_mark = arrangement.sections[-1].onset if arrangement.sections else Fraction(0)
    last = max(arrangement.bar_count, arrangement.bar_of(last_mark), 1)
    lines = [line for line in arrangement.lines if line.notes or line.kind is LineKind.MELODY]
    return tuple(
        _bar(arrangement, number, lines) for number in range(0 if arrangement.pickup else 1, last + 1)
    )


def sounding(bars: Sequence[Bar]) -> tuple[Bar, ...]:
    """The bars from the first to the last that hold a note, all of them where none does."""
    held = [index for index, bar in enumerate(bars) if not all(voice.silent for voice in bar.voices)]
    return tuple(bars[held[0] : held[-1] + 1]) if held else tuple(bars)


def _bar(arrangement: Arrangement, number: int, lines: Sequence[Line]) -> Bar:
    whole = units(arrangement.meter.bar)
    first = whole - units(arrangement.pickup) if number == 0 else 0
    start = arrangement.pickup - arrangement.meter.bar * (1 if number == 0 else 1 - number)
    begin, stop = arrangement.bar_start(number), start + arrangement.meter.bar
    marks = tuple(
        (units(section.onset - start), section)
        for section in arrangement.sections
        if begin <= section.onset < stop
    )
    voices = tuple(_voice(line, start, first, whole, arrangement) for line in lines)
    return Bar(number, first, whole, voices, marks)


def _voice(line: Line, start: Fraction, first: int, end: int, arrangement: Arrangement) -> Voice:
    spans = _spans(line, start, first, end)
    times = [time for begin, stop, _ in spans for time in (begin, stop)]
    zones = triplet_zones(times, first, arrangement.meter)
    symbols = [
        symbol
        for begin, stop, note in spans
        for symbol in _symbols(begin, stop, note, zones, start, arrangement)
    ]
    return Voice(line.kind, tuple(symbols))


def _spans(line: Line, start: Fraction, first: int, end: int) -> list[tuple[int, int, Note | None]]:
    """Notes and the rests between them, cut to the bar, in units."""
    found: list[tuple[int, int, Note | None]] = []
    now = first
    stop_time = start + Fraction(end, UNITS)
    for note in line.notes[bisect_right(line.notes, start, key=lambda note: note.end) :]:
        if note.onset >= stop_time:
            break
        begin, stop = max(units(note.onset - start), first), min(units(note.end - start), end)
        if begin > now:
            found.append((now, begin, None))
        found.append((begin, stop, note))
        now = stop
    if now < end:
        found.append((now, end, None))
    return found


def _symbols(
    begin: int,
    stop: int,
    note: Note | None,
    zones: Sequence[Zone],
    start: Fraction,
    arrangement: Arrangement,
) -> list[Symbol]:
    edges = {edge for zone in zones for edge in (zone.start, zone.end) if begin < edge < stop}
    found = []
    for left, right in pairwise(sorted({begin, stop} | edges)):
        zone = next((zone for zone in zones if zone.start <= left < zone.end), None)
        shift = zone.start if zone else 0
        at = left
        for value in split(left - shift, right - shift, arrangement.meter, triplet=zone is not None):
            found.append(_symbol(at, value, note, zone, start))
            at += value.length
    return found


def _symbol(at: int, value: Value, note: Note | None, zone: Zone | None, start: Fraction) -> Symbol:
    if note is None:
        return Symbol(at, value, None, zone=zone)
    return Symbol(
        at,
        value,
        note,
        tie_stop=units(note.onset - start) < at,
        tie_start=units(note.end - start) > at + value.length,
        zone=zone,
    )
