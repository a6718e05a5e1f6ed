"""Whether it can be played at all, and if not, at which least price.

Of two tones that sound together at most one is held into the next moment, and the hand may move between any
two moments. So what can be played depends only on which stops of the held tone are still possible: a set,
kept here as the bits of a whole number, one set for each price paid so far. That makes the question many
times quicker to answer than that for the best fingering, and the answer is exact.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from coach.fretboard.score import Moment, Score, Tone
from coach.fretboard.stances import Part, Way, ways
from coach.fretboard.stops import OPEN, Neck, Stop
from coach.fretboard.wishes import NO_WISHES, Wishes

Levels = dict[int, int]
"""For each price so far, in whole units, the stops possible at it, as bits; each at its least price only."""
GONE_BIT = 1 << 62
_ONSET_UNIT = 48
"""Every musical time is a whole number of these parts of a quarter note."""


class Fits:
    """Which stops of two pitches go together on a neck; worked out once for each pair and kept."""

    def __init__(self, neck: Neck, *, no_barre: bool = False) -> None:
        self.neck = neck
        self._no_barre = no_barre
        self._ways: dict[tuple[int, bool], tuple[Way, ...]] = {}
        self._rows: dict[tuple[int, bool, int, bool], tuple[int, ...]] = {}
        self._alone: dict[tuple[int, bool], int] = {}
        self._raised: dict[tuple[int, bool], int] = {}
        self._held: dict[tuple[int, int, int, int], bool] = {}
        self._shared: dict[tuple[int, bool, int, bool, int], int] = {}

    def ways(self, tone: Tone) -> tuple[Way, ...]:
        """Every way to play a tone, by bit."""
        key = (tone.midi, tone.may_rise)
        if key not in self._ways:
            self._ways[key] = ways(self.neck, Part(*key))
        return self._ways[key]

    def alone(self, tone: Tone) -> int:
        """The ways that some position of the hand allows."""
        key = (tone.midi, tone.may_rise)
        if key not in self._alone:
            self._alone[key] = sum(
                1 << bit for bit, way in enumerate(self.ways(tone)) if self.neck.homes(way.stop)
            )
        return self._alone[key]

    def raised(self, tone: Tone) -> int:
        """The ways that play the tone an octave higher."""
        key = (tone.midi, tone.may_rise)
        if key not in self._raised:
            self._raised[key] = sum(1 << bit for bit, way in enumerate(self.ways(tone)) if way.raised)
        return self._raised[key]

    def beside(self, tone: Tone, other: Tone, bits: int) -> int:
        """The ways to play ``other`` together with at least one of the given ways to play ``tone``."""
        key = (tone.midi, tone.may_rise, other.midi, other.may_rise, bits)
        found = self._shared.get(key)
        if found is None:
            rows = self._pair(tone, other)
            found = self.alone(other) | GONE_BIT if bits & GONE_BIT else GONE_BIT
            for bit, row in enumerate(rows):
                if bits >> bit & 1:
                    found |= row
            self._shared[key] = found
        return found

    def _pair(self, tone: Tone, other: Tone) -> tuple[int, ...]:
        key = (tone.midi, tone.may_rise, other.midi, other.may_rise)
        if key not in self._rows:
            self._rows[key] = tuple(
                sum(
                    1 << bit for bit, two in enumerate(self.ways(other)) if self._together(one.stop, two.stop)
                )
                for one in self.ways(tone)
            )
        return self._rows[key]

    def _together(self, one: Stop, other: Stop) -> bool:
        """Whether two stops go together; of their strings only matters that they differ."""
        if one.string == other.string:
            return False
        key = (one.fret, one.finger, other.fret, other.finger)
        if key not in self._held:
            barre = one.finger == other.finger != OPEN
            self._held[key] = not (barre and self._no_barre) and bool(self.neck.shared_homes(one, other))
        return self._held[key]


@dataclass(frozen=True, slots=True)
class Least:
    """The least price at which a score can be played.

    Parameters
    ----------
    price
        In points; 0 as it stands, ``None`` if no allowed change is enough.
    changed
        The tones among which the paid changes lie: those of the runs of held notes that cannot stay.
    stuck
        Where nothing is enough, the index of the moment.
    """

    price: Fraction | None
    changed: frozenset[int] = frozenset()
    stuck: int | None = None


def least_price(
    score: Score, fits: Fits, wishes: Wishes = NO_WISHES, *, at_most: Fraction | None = None
) -> Least:
    """The least price of changes to single bass notes that makes a score playable, exactly.

    Parameters
    ----------
    score
        Which changes are allowed, and their prices, is its freedom.
    fits
        The neck.
    wishes
        Kept exactly.
    at_most
        Give up once the price is certain to be higher; the answer is then ``None`` as well.
    """
    walk = Walk(score, fits, wishes)
    for index, moment in enumerate(score.moments):
        if not walk.take(moment):
            return Least(None, stuck=index)
        if at_most is not None and walk.paid() > at_most:
            return Least(None, stuck=index)
    walk.close()
    return Least(walk.paid(), frozenset(walk.changed))


class Walk:
    """Goes through the moments of a score, knowing at each the possible stops of the tones that sound.

    Parameters
    ----------
    score, fits, wishes
        See `least_price`.

    ``changed`` are the tones of those runs of held notes that have ended and could not stay as they are.
    """

    def __init__(self, score: Score, fits: Fits, wishes: Wishes = NO_WISHES) -> None:
        self._score = score
        self._fits = fits
        self._wishes = wishes
        self._plain = not wishes.notes and wishes.below_fret is None
        self._tones: tuple[int, ...] = ()
        self._levels: tuple[Levels, ...] = ()
        self._known: dict[int, Levels] = {}
        self._run: set[int] = set()
        self._settled = 0
        self._units = _ONSET_UNIT * lcm(*(price.denominator for price in _prices(score)))
        raised, shorten = score.freedom.raised, score.freedom.shorten
        self._raised = None if raised is None else int(raised * self._units)
        self._shorten = None if shorten is None else int(shorten * self._units)
        self.changed: set[int] = set()

    def copy(self) -> "Walk":
        """Another one that stands at the same moment."""
        other = Walk(self._score, self._fits, self._wishes)
        other._tones, other._levels, other._run = self._tones, self._levels, set(self._run)
        other._settled, other.changed = self._settled, set(self.changed)
        return other

    def paid(self) -> Fraction:
        """What has certainly been paid so far, in points."""
        return Fraction(self._settled + self._now(), self._units)

    def close(self) -> None:
        """End a run of held notes: its price is settled, whatever comes."""
        if not self._tones:
            return
        price = self._now()
        if price:
            self.changed |= self._run
        self._settled += price
        self._run = set()
        self._tones = ()

    def take(self, moment: Moment) -> bool:
        """Go on to the next moment; false if it cannot be played at any price."""
        held = moment.held()
        if not held:
            self.close()
        tones = self._score.tones
        levels: list[Levels] = []
        for tone in moment.tones:
            if tone in held:
                levels.append(self._held(tones[tone], self._kept(tone), moment))
            else:
                levels.append(self._struck(tones[tone]))
        self._tones, self._levels, self._known = moment.tones, tuple(levels), {}
        self._run.update(moment.tones)
        return bool(self._joint(0))

    def _now(self) -> int:
        return min(self._joint(0), default=0) if self._tones else 0

    def _kept(self, tone: int) -> Levels:
        """The possible stops of a tone that sounds on."""
        return self._joint(self._tones.index(tone))

    def _joint(self, column: int) -> Levels:
        """The possible ways of one tone, each at its least price with what sounds beside it."""
        mine = self._levels[column]
        if len(self._tones) == 1:
            return mine
        if column in self._known:
            return self._known[column]
        beside = self._levels[1 - column]
        tone, other = (self._score.tones[self._tones[at]] for at in (column, 1 - column))
        found: Levels = {}
        for price, bits in beside.items():
            reach = self._fits.beside(other, tone, bits)
            for own_price, own in mine.items():
                if own & reach:
                    found[price + own_price] = found.get(price + own_price, 0) | (own & reach)
        self._known[column] = _cheapest(found)
        return self._known[column]

    def _struck(self, tone: Tone) -> Levels:
        allowed = self._fits.alone(tone)
        found = self._fits.ways(tone)
        if not self._plain:
            kept = self._wishes.allowed(tone, found)
            allowed &= sum(1 << bit for bit, ok in enumerate(kept) if ok)
        raised = self._fits.raised(tone) if tone.may_rise else 0
        levels = {0: allowed & ~raised}
        if raised and self._raised is not None:
            levels[self._raised] = levels.get(self._raised, 0) | (allowed & raised)
        return {price: bits for price, bits in levels.items() if bits}

    def _held(self, tone: Tone, levels: Levels, moment: Moment) -> Levels:
        if self._shorten is None or not levels or not tone.may_go_at(moment.time):
            return levels
        lost = tone.end - moment.time
        price = min(levels) + self._shorten * lost.numerator // lost.denominator
        found = dict(levels)
        found[price] = found.get(price, 0) | GONE_BIT
        return _cheapest(found)


def _prices(score: Score) -> list[Fraction]:
    return [price for price in (score.freedom.shorten, score.freedom.raised) if price is not None]


def _cheapest(found: Levels) -> Levels:
    if len(found) == 1:
        return found
    seen = 0
    levels: Levels = {}
    for price in sorted(found):
        bits = found[price] & ~seen
        if bits:
            levels[price] = bits
            seen |= bits
    return levels
