"""Written note values: the fewest tied values that fill a span and show the beat.

Times are counted in units of 1/48 of a quarter note within a bar, in which every allowed time is whole;
inside a triplet a written value sounds two thirds as long.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from coach.music.meter import Meter

UNITS = 48
"""Units a quarter: the least common multiple of the allowed denominators; MusicXML's ``divisions``."""
_TYPES = ("whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th")
FLAGS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5}
"""Flags or beams of a value."""
_PIECE, _HIDES_MIDDLE, _HIDES_BEAT, _SYNCOPATED = 1.0, 0.4, 1.1, 0.1
"""What each written value costs, and what it costs more where it does so: see `split`."""


@dataclass(frozen=True, slots=True)
class Value:
    """A written value: its MusicXML type name, dots, and length in units."""

    type: str
    dots: int
    length: int


def _values(whole: int) -> tuple[Value, ...]:
    found = []
    for power, name in enumerate(_TYPES):
        plain, rest = divmod(whole, 2**power)
        if rest:
            break
        found.append(Value(name, 0, plain))
        if plain % 2 == 0:
            found.append(Value(name, 1, plain + plain // 2))
    return tuple(sorted(found, key=lambda value: -value.length))


PLAIN_VALUES = _values(4 * UNITS)
TRIPLET_VALUES = _values(4 * UNITS * 2 // 3)


def units(time: Fraction) -> int:
    """A musical time in units; ``ValueError`` where it is not a whole number of them."""
    exact = time * UNITS
    if exact.denominator != 1:
        raise ValueError(f"{time} quarters cannot be written down")
    return int(exact)


@lru_cache(maxsize=4096)
def split(start: int, end: int, meter: Meter, *, triplet: bool = False) -> tuple[Value, ...]:
    """The values that fill [start, end) of a bar with the least cost.

    Every value costs 1. A value that hides the middle of a bar of four costs .4 more, one that begins off the
    beat and hides a beat it should show 1.1 more, so that it is cut and tied there; a syncope of half a beat
    is usual and costs .1. Weights: our own; what they bring about (beats and the middle of the bar stay
    visible) is common practice.
    """
    table = TRIPLET_VALUES if triplet else PLAIN_VALUES
    best: dict[int, tuple[float, tuple[Value, ...]]] = {end: (0.0, ())}
    for at in range(end - 1, start - 1, -1):
        options = [
            (
                best[at + value.length][0] + _PIECE + _cost(at, value, meter, triplet=triplet),
                (value, *best[at + value.length][1]),
            )
            for value in table
            if at + value.length in best
        ]
        if options:
            best[at] = min(options, key=lambda option: option[0])
    if start not in best:
        raise ValueError(f"no written values fill {start} to {end} units")
    return best[start][1]


def _cost(at: int, value: Value, meter: Meter, *, triplet: bool) -> float:
    """What a value costs beyond being one more."""
    if triplet:
        return 0.0
    beat = units(meter.beat)
    end = at + value.length
    first_beat = (at // beat + 1) * beat
    hides_beat = first_beat < end
    if at % beat and hides_beat:
        longest = 5 * beat // 4 if meter.beats == 3 else 2 * beat
        half_off = not meter.compound and (2 * at) % beat == 0 and value.length <= longest
        middle = units(meter.bar) // 2
        hides_middle = meter.beats == 4 and at < middle < end
        return _HIDES_BEAT + _HIDES_MIDDLE if hides_middle or not half_off else _SYNCOPATED
    if meter.compound and end % beat and hides_beat:
        return _HIDES_BEAT
    if meter.beats == 4 and at and at < units(meter.bar) // 2 < end:
        return _HIDES_MIDDLE
    return 0.0
