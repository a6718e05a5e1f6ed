"""How far a hand reaches: hard limits, and what is merely less easy.

The principles are those of the literature: a fingering is a path of least cost through the ways to hold
each moment (Sayegh 1989, "Fingering for string instruments with the optimum path paradigm", Computer Music
Journal 13(3)); cost comes from leaving the natural span of a hand position and from moving the hand
(Heijink and Meulenbroek 2002, "On the complexity of classical guitar playing", Journal of Motor Behavior
34(4)). The numbers, the two reaches and the treatment of two lines with held notes are our own.
"""

from dataclasses import astuple, dataclass, field, replace

from coach.fretboard.tuning import fret_mm

INDEX, MIDDLE, RING, LITTLE = 1, 2, 3, 4
FINGERS = (INDEX, MIDDLE, RING, LITTLE)
HOME_FRETS = 1
"""A finger may leave its home fret, ``position + finger − 1``, by one fret at most."""
HOME_MM = 37.0
"""... and by this many mm at most. Our own measure: the first fret of a 650 mm string is 36.5 mm wide."""


@dataclass(frozen=True, slots=True)
class Spans:
    """The largest distance in mm, along the neck, between two pressed fingers."""

    index_middle: float
    index_ring: float
    index_little: float
    middle_ring: float
    middle_little: float
    ring_little: float

    def between(self, lower: int, higher: int) -> float:
        """Largest mm from a finger (1 to 4) to a higher one; ``ValueError`` for any other pair."""
        try:
            return {
                (INDEX, MIDDLE): self.index_middle,
                (INDEX, RING): self.index_ring,
                (INDEX, LITTLE): self.index_little,
                (MIDDLE, RING): self.middle_ring,
                (MIDDLE, LITTLE): self.middle_little,
                (RING, LITTLE): self.ring_little,
            }[lower, higher]
        except KeyError as error:
            raise ValueError(f"no such pair of fingers: {lower}, {higher}") from error

    def towards(self, other: "Spans", share: float) -> "Spans":
        """These limits moved by a share of the way to others; 0 keeps them."""
        return Spans(
            *(
                mine + share * (theirs - mine)
                for mine, theirs in zip(astuple(self), astuple(other), strict=True)
            )
        )


@dataclass(frozen=True, slots=True)
class Costs:
    """What is less easy, in points; nothing here forbids anything.

    Parameters
    ----------
    fret, ring, little
        Per struck note: for each fret up the neck, and for the two weaker fingers.
    beyond_asking
        Per struck note above the fret up to which a player goes without being asked.
    thumb_clash
        Two notes struck together that both lie on the thumb's strings.
    off_home_mm, beyond_span_mm
        Per moment and mm: a finger off its home fret; two fingers further apart than their home frets.
    barre, barre_string
        The index across two strings; each string further.
    crossing
        Two fingers on one fret with the lower finger on the thinner string.
    shift, shift_mm, shift_held
        The hand moves; each mm of it; while a pressed note is held.
    other_string, along_string
        A finger goes straight to another string, or slides along its own.
    refingered
        The same pitch, struck again, is played elsewhere.
    """

    fret: float = 0.10
    ring: float = 0.1
    little: float = 0.3
    beyond_asking: float = 3.0
    thumb_clash: float = 1.0
    off_home_mm: float = 0.03
    beyond_span_mm: float = 0.02
    barre: float = 2.5
    barre_string: float = 0.3
    crossing: float = 0.7
    shift: float = 2.0
    shift_mm: float = 0.02
    shift_held: float = 3.0
    other_string: float = 1.5
    along_string: float = 0.5
    refingered: float = 2.0


@dataclass(frozen=True, slots=True)
class Reach:
    """What one player's left hand can do.

    Parameters
    ----------
    name
        ``starter``, ``narrow``, ``seasoned`` or ``own``.
    spans
        Hard limits between two pressed fingers.
    max_fret, max_position
        Hard limits, counted from the nut: the highest fret pressed, the highest fret under the index finger.
    asking_fret
        Counted from the capo: higher frets cost `Costs.beyond_asking` and are told to the player.
    costs
        See `Costs`.
    """

    name: str
    spans: Spans
    max_fret: int
    max_position: int
    asking_fret: int
    costs: Costs = field(default_factory=Costs)

    @property
    def word(self) -> str:
        """What the screen calls it: small, wide, very small, or in between."""
        words = {"starter": "small", "narrow": "very small", "seasoned": "wide"}
        return words.get(self.name, "between small and wide")


STARTER = Reach(
    name="starter",
    spans=Spans(70.0, 100.0, 100.0, 40.0, 70.0, 40.0),
    max_fret=12,
    max_position=9,
    asking_fret=7,
    costs=Costs(fret=0.30),
)
"""A first year's hand: low frets preferred (three times the cost a fret), up to fret 7 without asking."""
SEASONED = Reach(
    name="seasoned",
    spans=Spans(100.0, 115.0, 128.0, 67.0, 90.0, 50.0),
    max_fret=15,
    max_position=12,
    asking_fret=15,
)
"""A hand of some years."""
NARROW = replace(STARTER, name="narrow", spans=replace(STARTER.spans, index_ring=85.0, index_little=85.0))
"""A hand that cannot yet press frets 3 and 6 together (87 mm by `fret_mm`); else a starter's."""
SMALLEST_SHARE = 0.8
"""An answer below this share of a starter's span is taken for a misunderstanding. From no source."""


def own_reach(index_fret: int, little_fret: int) -> Reach:
    """The player's own reach, from one answer on the neck.

    Parameters
    ----------
    index_fret, little_fret
        "First finger on fret 3: which is the highest fret your little finger can press?"

    The distance asked about becomes the limit between index and little finger; the other pairs move
    in proportion between the starter's and the seasoned hand's, never beyond the latter.

    ``ValueError`` unless ``1 <= index_fret < little_fret``.
    """
    if not 1 <= index_fret < little_fret:
        raise ValueError(f"the little finger must lie above the index: {index_fret}, {little_fret}")
    measured_mm = fret_mm(little_fret) - fret_mm(index_fret)
    small, wide = STARTER.spans, SEASONED.spans
    if measured_mm < small.index_little:
        share = max(measured_mm / small.index_little, SMALLEST_SHARE)
        nothing = Spans(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
        return replace(STARTER, name="own", spans=nothing.towards(small, share))
    share = min((measured_mm - small.index_little) / (wide.index_little - small.index_little), 1.0)
    base = SEASONED if share >= 0.5 else STARTER
    return replace(base, name="own", spans=small.towards(wide, share))


OWN = own_reach(3, 7)
"""A hand between the two: it presses frets 3 and 7 together (113 mm by `fret_mm`), but not yet 1 and 5."""
REACHES = {"starter": STARTER, "seasoned": SEASONED, "narrow": NARROW, "own": OWN}
