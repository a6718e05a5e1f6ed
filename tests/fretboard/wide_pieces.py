"""Two-line pieces made by chance, as wide as people bring them: every key, register, meter and oddity.

Nothing here is taken from any piece: the lines are walks through a scale over roots of I, IV, V and VI.
"""

import random
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.music import Key, Meter
from coach.music.key import Mode
from coach.notation import Arrangement, Line, LineKind, Note
from coach.notation.note import ALLOWED_DENOMINATORS

ODDITIES = (
    "plain", "crossing", "unisons", "long bass", "repeated bass", "pickup", "triplets", "imported",
    "low bass", "high melody", "bass walks", "leaps",
)  # fmt: skip
"""What a piece is made to have; several go together."""
METERS = ("4/4", "3/4", "6/8", "2/4")
ROOTS = (0, 5, 7, 0, 9, 5, 7, 0)
"""Semitones above the tonic, a bar each, over and over (common practice)."""
E2, E6, TOP = 40, 88, 103


@dataclass(frozen=True, slots=True)
class WidePiece:
    """A piece and what it was made to have."""

    arrangement: Arrangement
    oddities: frozenset[str]


def wide_piece(rng: random.Random, bars: int = 16) -> WidePiece:
    """One piece of so many bars."""
    odd = frozenset(rng.sample(ODDITIES, rng.randint(1, 3)))
    key = Key.of_fifths(rng.randint(-6, 6), rng.choice(list(Mode)))
    meter = Meter.parse(rng.choice(METERS))
    pickup = rng.choice((Fraction(1, 2), Fraction(1))) if "pickup" in odd else Fraction(0)
    middle = rng.randint(86, 98) if "high melody" in odd else rng.randint(58, 80)
    melody = _melody(rng, odd, meter, bars, pickup, _scale(key), middle)
    bass = _bass(rng, odd, meter, bars, pickup, key.tonic_class, melody)
    if "imported" in odd:
        melody, bass = _imported(rng, melody), _imported(rng, bass)
    lines = [
        Line.of(kind, [Note(o, d, key.spell(midi)) for o, d, midi in notes])
        for kind, notes in ((LineKind.MELODY, melody), (LineKind.BASS, bass))
    ]
    piece = Arrangement("chance", meter, key, rng.randint(50, 120), lines[0], lines[1], pickup=pickup)
    return WidePiece(piece, odd)


Notes = list[tuple[Fraction, Fraction, int]]


def _scale(key: Key) -> list[int]:
    return [midi for midi in range(28, TOP + 1) if midi % 12 in key.scale_classes]


def _melody(
    rng: random.Random,
    odd: frozenset[str],
    meter: Meter,
    bars: int,
    pickup: Fraction,
    scale: list[int],
    middle: int,
) -> Notes:
    lengths = ["1/2", "1", "1", "2"] if meter.unit == 4 else ["1/2", "1/2", "1", "3/2"]
    if "triplets" in odd:
        lengths += ["1/3", "1/3", "1/3", "2/3"]
    end, now = pickup + bars * meter.bar, Fraction(0)
    near = min(range(len(scale)), key=lambda index: abs(scale[index] - middle))
    at, found = near, Notes()
    reach = 8 if "leaps" in odd else 5
    while now < end:
        length = min(Fraction(rng.choice(lengths)), end - now)
        if length.denominator not in ALLOWED_DENOMINATORS:
            break
        if rng.random() > 0.08:
            found.append((now, length, scale[at]))
        step = rng.choice((-2, -1, -1, 0, 1, 1, 2, rng.randint(-reach, reach)))
        at = min(max(at + step, near - 6, 0), near + 6, len(scale) - 1)
        now += length
        if now.denominator not in ALLOWED_DENOMINATORS:
            now = Fraction(int(now * 12) + 1, 12)
    return found


def _bass(
    rng: random.Random,
    odd: frozenset[str],
    meter: Meter,
    bars: int,
    pickup: Fraction,
    tonic: int,
    melody: Notes,
) -> Notes:
    floor = rng.choice((26, 30, 33)) if "low bass" in odd else E2
    found = Notes()
    for bar in range(bars):
        start, length = pickup + bar * meter.bar, meter.bar
        root = floor + (tonic + ROOTS[bar % len(ROOTS)] - floor) % 12
        if "crossing" in odd and rng.random() < 0.4:
            root += 12 * rng.randint(1, 2)
        if "unisons" in odd and rng.random() < 0.5:
            root = next((midi for onset, _, midi in melody if onset == start), root)
        found += _bar_of_bass(rng, odd, start, length, root)
    return _held(rng, found) if "long bass" in odd else found


def _bar_of_bass(
    rng: random.Random, odd: frozenset[str], start: Fraction, length: Fraction, root: int
) -> Notes:
    if "repeated bass" in odd:
        count = int(length)
        return [(start + at, length / count, root) for at in range(count)] if length == count else []
    if "bass walks" in odd and length >= 2:
        other = root + rng.choice((-5, 2, 4, 5, 7))
        return [(start, length / 2, root), (start + length / 2, length / 2, max(other, 24))]
    return [(start, length, root)] if rng.random() > 0.05 else []


def _held(rng: random.Random, bass: Notes) -> Notes:
    """A bass note sounds on through the bars after it."""
    found = Notes()
    for onset, length, midi in bass:
        if found and rng.random() < 0.5:
            before = found[-1]
            found[-1] = (before[0], onset + length - before[0], before[2])
        else:
            found.append((onset, length, midi))
    return found


def _imported(rng: random.Random, notes: Notes) -> Notes:
    """As a keyboard played it: notes end a little early, so that they overlap the other line unevenly."""
    short = (Fraction(1, 16), Fraction(1, 8), Fraction(0))
    found = []
    for onset, length, midi in notes:
        less = length - rng.choice(short)
        good = less > 0 and less.denominator in ALLOWED_DENOMINATORS
        found.append((onset, less if good else length, midi))
    return found


def out_of_tune(rng: random.Random) -> tuple[int, int, int, int, int, int]:
    """A tuning in use: standard, low D, all lower, or two strings lower (common practice)."""
    return rng.choice(
        (
            (40, 45, 50, 55, 59, 64),
            (38, 45, 50, 55, 59, 64),
            (39, 44, 49, 54, 58, 63),
            (38, 45, 50, 55, 57, 62),
            (38, 43, 50, 55, 59, 62),
        )
    )


def with_capo(piece: Arrangement, capo: int) -> Arrangement:
    """The same lines with the capo elsewhere."""
    return replace(piece, capo=capo)
