"""All ways to hold one moment, as arrays: the states of the search.

A stance is a stop for every sounding tone and the position of the hand, the fret under the index finger. The
stances of a chord of pitches are worked out once and kept, since music repeats itself.
"""

from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from coach.fretboard.reach import LITTLE, RING, Costs
from coach.fretboard.stops import OPEN, Neck, Stop
from coach.music.tuning_system import OCTAVE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SLOTS = 2
"""Two lines: never more than two tones at once."""
GONE = Stop(0, 0, OPEN)
"""In place of a stop: the tone has been let go early."""
THUMB_STRING = 4
"""The thumb plays this string and the thicker ones, index, middle and ring the others. Common practice."""
_STRING_CODES, _FRET_CODES = 8, 32
"""In the code of what a finger presses: more than there are strings, and frets with one for none."""


class Part(NamedTuple):
    """One tone of a chord as far as its stops are concerned: pitch, may it rise, may it be gone by now."""

    midi: int
    may_rise: bool = False
    may_go: bool = False


class Way(NamedTuple):
    """One way to treat a tone: its stop, and whether it was raised an octave."""

    stop: Stop
    raised: bool = False


def ways(neck: Neck, part: Part) -> tuple[Way, ...]:
    """Every way to treat a tone; the last is to have let it go, where that is allowed.

    The order of the others does not depend on ``may_go``, so that an index means the same from moment to
    moment.
    """
    found = [Way(stop) for stop in neck.stops(part.midi)]
    if part.may_rise:
        found += [Way(stop, raised=True) for stop in neck.stops(part.midi + OCTAVE)]
    return (*found, Way(GONE)) if part.may_go else tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class Stances:
    """The ``n`` ways to hold a chord; arrays of ``n`` rows, per tone in two columns (unused ones 0).

    Parameters
    ----------
    position
        Fret under the index finger, counted from the capo.
    string, fret, finger, pitch
        Of each tone; string 0 where there is none or it was let go. ``pitch`` is 0 there.
    way
        Index of each tone's way in `ways`, −1 where there is no tone.
    raised, gone
        Of each tone: played an octave higher; let go early.
    shape
        Cost in points of holding it, whatever came before.
    strike
        Cost in points of striking each tone.
    clash
        Cost in points if both tones are struck together.
    barre
        Whether the index lies across two strings.
    places
        For fingers 1 to 4 (columns 0 to 3) a code of what it presses, last string, first string and fret; 0
        where it presses nothing. Equal codes are equal places; `first_string` reads them.
    """

    position: Ints
    string: Ints
    fret: Ints
    finger: Ints
    pitch: Ints
    way: Ints
    raised: Bools
    gone: Bools
    shape: Floats
    strike: Floats
    clash: Floats
    barre: Bools
    places: Ints

    def __len__(self) -> int:
        return len(self.position)


def stances(neck: Neck, parts: tuple[Part, ...]) -> Stances:
    """Work out every stance that the hard limits allow for a chord of one or two tones."""
    rows: list[tuple[int, ...]] = []
    choices = [tuple(enumerate(ways(neck, part))) for part in parts]
    for chosen in product(*choices):
        stops = [way.stop for _, way in chosen if way.stop is not GONE]
        for position in sorted(_homes(neck, stops)):
            row = [position]
            for part, (index, way) in zip(parts, chosen, strict=True):
                gone = way.stop is GONE
                pitch = 0 if gone else part.midi + OCTAVE * way.raised
                row += [*way.stop, pitch, index, int(way.raised), int(gone)]
            rows.append(tuple(row))
    width = 7
    table = np.array(rows, dtype=np.int64).reshape(len(rows), 1 + width * len(parts))
    columns = np.zeros((width, len(rows), SLOTS), dtype=np.int64)
    columns[4] = -1
    for slot in range(len(parts)):
        columns[:, :, slot] = table[:, 1 + width * slot : 1 + width * (slot + 1)].T
    return _priced(neck, table[:, 0], columns)


def _homes(neck: Neck, stops: list[Stop]) -> frozenset[int]:
    match stops:
        case [one, other]:
            return neck.shared_homes(one, other)
        case [one]:
            return neck.homes(one)
        case _:
            return neck.anywhere


def _priced(neck: Neck, position: Ints, columns: Ints) -> Stances:
    string, fret, finger, pitch, way, raised, gone = columns
    both = (finger > OPEN).all(axis=1)
    barre = both & (finger[:, 0] == finger[:, 1])
    low_string = string >= THUMB_STRING
    costs = neck.reach.costs
    return Stances(
        position=position,
        string=string,
        fret=fret,
        finger=finger,
        pitch=pitch,
        way=way,
        raised=raised > 0,
        gone=gone > 0,
        shape=_shape(neck, position, string, fret, finger, barre),
        strike=_strike(costs, fret, finger, neck.reach.asking_fret),
        clash=np.where(low_string.all(axis=1), costs.thumb_clash, 0.0),
        barre=barre,
        places=_places(string, fret, finger),
    )


def _strike(costs: Costs, fret: Ints, finger: Ints, asking_fret: int) -> Floats:
    total: Floats = (
        costs.fret * fret
        + costs.ring * (finger == RING)
        + costs.little * (finger == LITTLE)
        + costs.beyond_asking * (fret > asking_fret)
    )
    return total


def _shape(neck: Neck, position: Ints, string: Ints, fret: Ints, finger: Ints, barre: Bools) -> Floats:
    costs = neck.reach.costs
    mm = np.array(neck.fret_mm)
    pressed = finger > OPEN
    home = np.where(pressed, position[:, None] + finger - 1, 0)
    total: Floats = (costs.off_home_mm * np.abs(mm[fret] - mm[home]) * pressed).sum(axis=1)
    total += barre * (costs.barre + costs.barre_string * np.abs(string[:, 0] - string[:, 1]))
    low = (finger[:, 1] < finger[:, 0]).astype(np.int64)
    rows = np.arange(len(position))
    two = pressed.all(axis=1) & ~barre
    spread = mm[fret[rows, 1 - low]] - mm[fret[rows, low]]
    natural = mm[home[rows, 1 - low]] - mm[home[rows, low]]
    total += two * costs.beyond_span_mm * np.maximum(spread - natural, 0.0)
    crossed = (fret[:, 0] == fret[:, 1]) & (string[rows, low] < string[rows, 1 - low])
    total += two * crossed * costs.crossing
    return total


def _places(string: Ints, fret: Ints, finger: Ints) -> Ints:
    codes = np.zeros((len(string), 4), dtype=np.int64)
    for column in range(4):
        mine = finger == column + 1
        first = np.where(mine, string, 7).min(axis=1)
        last = np.where(mine, string, 0).max(axis=1)
        at = np.where(mine, fret, 0).max(axis=1)
        code = (last * _STRING_CODES + first) * _FRET_CODES + at + 1
        codes[:, column] = np.where(mine.any(axis=1), code, 0)
    return codes


def first_string(places: Ints) -> Ints:
    """The thinnest string that is pressed, out of codes of `Stances.places`."""
    return places // _FRET_CODES % _STRING_CODES
