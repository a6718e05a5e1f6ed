"""Small two-line pieces made by chance, for comparing solvers."""

import random
from fractions import Fraction

from coach.music import Key, Meter
from coach.notation import Arrangement, Line, LineKind, Note

KEY = Key.parse("C")


def arrangement_of(
    melody: list[tuple[str, str, int]], bass: list[tuple[str, str, int]], *, meter: str = "4/4", capo: int = 0
) -> Arrangement:
    """An arrangement of notes given as onset, duration (fraction strings) and MIDI number."""

    def line(kind: LineKind, notes: list[tuple[str, str, int]]) -> Line:
        return Line.of(kind, [Note(Fraction(o), Fraction(d), KEY.spell(m)) for o, d, m in notes])

    return Arrangement(
        "test",
        Meter.parse(meter),
        KEY,
        80,
        line(LineKind.MELODY, melody),
        line(LineKind.BASS, bass),
        capo=capo,
    )


def chance_piece(rng: random.Random, beats: int, *, low: int = 40, high: int = 76) -> Arrangement:
    """A melody of eighths to halves over a slower bass, somewhere on the neck; lines may cross and meet."""
    scale = [midi for midi in range(low, high + 1) if midi % 12 in {0, 2, 4, 5, 7, 9, 11}]
    split = rng.randint(len(scale) // 3, len(scale) // 2)
    melody = _walk(rng, scale[split - 3 :], beats, ("1/2", "1", "1", "2"))
    bass = _walk(rng, scale[: split + 2], beats, ("1", "2", "2", "4"))
    return arrangement_of(melody, bass)


def _walk(
    rng: random.Random, scale: list[int], beats: int, lengths: tuple[str, ...]
) -> list[tuple[str, str, int]]:
    found = []
    now, at = Fraction(0), rng.randrange(len(scale))
    while now < beats:
        length = min(Fraction(rng.choice(lengths)), beats - now)
        if rng.random() > 0.1:
            found.append((str(now), str(length), scale[at]))
        at = min(max(at + rng.choice((-3, -2, -1, 0, 1, 1, 2, 4)), 0), len(scale) - 1)
        now += length
    return found
