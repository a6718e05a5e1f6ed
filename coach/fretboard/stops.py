"""Ways to stop one note, and the hard rules between two of them.

This is the one place where the hard limits are written down as code. Both the fast tables and the
explanations of what is out of reach ask here.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from coach.fretboard.reach import FINGERS, HOME_FRETS, HOME_MM, INDEX, STARTER, Reach
from coach.fretboard.tuning import SCALE_MM, STANDARD, STRING_COUNT, Tuning, from_capo_mm
from coach.notation.note import HIGHEST_FRET

OPEN = 0
"""In place of a finger: the string is not pressed."""
_ROUNDING_MM = 1e-9


class Stop(NamedTuple):
    """One way to play a pitch: string 1 to 6, fret from the capo, finger 1 to 4 or 0 for open."""

    string: int
    fret: int
    finger: int


@dataclass(frozen=True)  # not slotted: the tables below are computed once and kept
class Neck:
    """A guitar as it is tuned and held: tuning, capo, the hand's reach, string length.

    Parameters
    ----------
    tuning, capo, reach, scale_mm
        The capo's fret counts from the nut, 0 for none; ``scale_mm`` is the length of the open strings.
    """

    tuning: Tuning = STANDARD
    capo: int = 0
    reach: Reach = STARTER
    scale_mm: float = SCALE_MM

    def __post_init__(self) -> None:
        if not 0 <= self.capo < HIGHEST_FRET or self.scale_mm <= 0.0:
            raise ValueError(f"no such neck: capo {self.capo}, {self.scale_mm} mm")

    @cached_property
    def fret_mm(self) -> tuple[float, ...]:
        """Distance in mm of each fret from the capo; index 0 is the capo itself."""
        return tuple(from_capo_mm(fret, self.capo, self.scale_mm) for fret in range(HIGHEST_FRET + 1))

    @property
    def max_fret(self) -> int:
        """Highest fret counted from the capo; the limit itself counts from the nut."""
        return max(self.reach.max_fret - self.capo, 0)

    @cached_property
    def positions(self) -> tuple[int, ...]:
        """Frets, from the capo, that may lie under the index finger; empty for a capo beyond the limit."""
        return tuple(range(1, self.reach.max_position - self.capo + 1))

    def open_midi(self, string: int) -> int:
        """MIDI note of a string that is not pressed, the capo counted in."""
        return self.tuning.open_midi(string) + self.capo

    @property
    def lowest_midi(self) -> int:
        """Lowest note there is."""
        return min(self.open_midi(string) for string in range(1, STRING_COUNT + 1))

    @property
    def highest_midi(self) -> int:
        """Highest note within the reach's last fret."""
        return max(self.open_midi(string) for string in range(1, STRING_COUNT + 1)) + self.max_fret

    def stops(self, midi: int) -> tuple[Stop, ...]:
        """Every way to play a pitch within the last fret, string 6 first."""
        found: list[Stop] = []
        for string in range(STRING_COUNT, 0, -1):
            fret = midi - self.open_midi(string)
            if fret == 0:
                found.append(Stop(string, 0, OPEN))
            elif 0 < fret <= self.max_fret:
                found.extend(Stop(string, fret, finger) for finger in FINGERS)
        return tuple(found)

    def homes(self, stop: Stop) -> frozenset[int]:
        """The positions from which a finger can press its place: near its home fret, in frets and mm."""
        if stop.finger == OPEN:
            return self.anywhere
        near = range(stop.fret - stop.finger + 1 - HOME_FRETS, stop.fret - stop.finger + 2 + HOME_FRETS)
        return frozenset(
            position
            for position in near
            if position in self.positions
            and abs(self.fret_mm[stop.fret] - self.fret_mm[position + stop.finger - 1])
            <= HOME_MM + _ROUNDING_MM
        )

    @cached_property
    def anywhere(self) -> frozenset[int]:
        """Positions while nothing is pressed: the first is always there, however high the capo."""
        return frozenset(self.positions) | {1}

    def apart_mm(self, one: Stop, other: Stop) -> float:
        """Distance along the neck between two pressed places."""
        return abs(self.fret_mm[one.fret] - self.fret_mm[other.fret])

    def together(self, one: Stop, other: Stop) -> bool:
        """Whether two notes can sound together, wherever the hand lies.

        Different strings; the same finger only as a barre of the index; a higher finger never on a lower
        fret; no two fingers further apart than the reach allows.
        """
        if one.string == other.string:
            return False
        if OPEN in {one.finger, other.finger}:
            return True
        if one.finger == other.finger:
            return one.finger == INDEX and one.fret == other.fret
        low, high = (one, other) if one.finger < other.finger else (other, one)
        if high.fret < low.fret:
            return False
        limit = self.reach.spans.between(low.finger, high.finger)
        return self.apart_mm(low, high) <= limit + _ROUNDING_MM

    def shared_homes(self, one: Stop, other: Stop) -> frozenset[int]:
        """The positions from which both notes can sound together; empty where none exists."""
        return self.homes(one) & self.homes(other) if self.together(one, other) else frozenset()
