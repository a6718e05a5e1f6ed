"""Piano pieces of the music21 corpus as note lists with their outer lines found, and fuller textures of ours.

All composers are out of copyright. The melody of a piano piece is what sounds highest, its bass what sounds
lowest; everything else is filling.
"""

import json
import random
from pathlib import Path

from music21 import converter, corpus

from tests.bench.clip_notes import Sounding, Tune, arrange

LEARNED = (
    "mozart/k545", "joplin/maple_leaf_rag", "cpebach/h186", "schumann_clara/polonaise_op1n1",
    "schumann_clara/polonaise_op1n2", "schumann_clara/polonaise_op1n3",
)  # fmt: skip
KEPT_BACK = ("chopin/mazurka06-2", "schumann_clara/polonaise_op1n4", "beach/prayer")
"""Pieces that are only measured on."""
FULLER = ("wide", "chordal", "counter", "doubled")


def read_scores(cache: Path) -> dict[str, list[list[tuple[float, float, int]]]]:
    """Onset, duration (quarter notes), MIDI of the pieces; kept as JSON because parsing is slow."""
    if cache.exists():
        return json.loads(cache.read_text())  # type: ignore[no-any-return]
    paths = sorted(str(path) for path in corpus.getPaths())
    out: dict[str, list] = {}
    for name, wanted in (("learned", LEARNED), ("kept_back", KEPT_BACK)):
        found = [next(p for p in paths if word in p) for word in wanted]
        out[name] = [_notes(path) for path in found]
    cache.write_text(json.dumps(out))
    return out


def _notes(path: str) -> list[tuple[float, float, int]]:
    found = set()
    for part in converter.parse(path).parts:
        for note in part.stripTies().flatten().notes:
            if not note.duration.isGrace and note.quarterLength >= 0.1:
                found |= {(float(note.offset), float(note.quarterLength), int(p.midi)) for p in note.pitches}
    return sorted(found)


def with_lines(notes: list[tuple[float, float, int]]) -> list[Sounding]:
    """Name the outer lines: the highest note at each onset unless a higher one still sounds; the lowest."""
    top, low = {}, {}
    for start in sorted({n[0] for n in notes}):
        fresh = [n for n in notes if n[0] == start]
        held = [n[2] for n in notes if n[0] < start < n[0] + n[1] - 1e-6]
        highest, lowest = max(fresh, key=lambda n: n[2]), min(fresh, key=lambda n: n[2])
        if not held or highest[2] > max(held):
            top[highest] = start
        if lowest is not highest and (not held or lowest[2] < min(held)):
            low[lowest] = start
    out = []
    for n in notes:
        role = "mel" if n in top else "bass" if n in low else "in"
        out.append(Sounding(n[0], n[1], n[2], role))
    return out


def score_clip(notes: list[tuple[float, float, int]], rng: random.Random, beats: float) -> list[Sounding]:
    """A stretch of a piano piece, in any key."""
    end = max(n[0] + n[1] for n in notes)
    start, move = rng.uniform(0, max(0.0, end - beats)), rng.randint(-4, 4)
    piece = [(b - start, d, m + move) for b, d, m in notes if start <= b < start + beats]
    return with_lines(piece)


def fuller(tune: Tune, style: str, *, low: int, middle: int, over: int, rng: random.Random) -> list[Sounding]:
    """A tune in one of the textures of ``FULLER``, built on the plain ones."""
    base = {"wide": "bare", "chordal": "walking", "counter": "broken", "doubled": "block"}[style]
    out = arrange(tune, base, low=low, middle=middle, over=over, rng=rng)
    scale = sorted((tune.tonic + s) % 12 for s in tune.scale)
    if style == "wide":
        for n in [n for n in out if n.role == "bass"]:
            ladder = [
                m
                for m in range(n.midi + 5, n.midi + 30)
                if (m - n.midi) % 12 in rng.choice(((0, 4, 7), (0, 3, 7)))
            ]
            step = rng.choice((0.25, 0.5))
            for k in range(1, int(n.beats / step)):
                midi = ladder[(k if k < len(ladder) else 2 * len(ladder) - k - 2) % len(ladder)]
                if all(midi < m.midi for m in out if m.role == "mel" and m.beat < n.beat + k * step + step
                       and m.beat + m.beats > n.beat + k * step):  # fmt: skip
                    out.append(Sounding(n.beat + k * step, step, midi, "in"))
    if style == "counter":
        for b, d, m in tune.notes[::2]:
            away = [k for k in range(m - 10, m - 2) if k % 12 in scale]
            if away and d >= 0.5:
                out += [
                    Sounding(b, d / 2, rng.choice(away), "in"),
                    Sounding(b + d / 2, d / 2, rng.choice(away), "in"),
                ]
    if style in {"chordal", "doubled"}:
        for b, d, m in tune.notes:
            third = [k for k in range(m - 5, m - 2) if k % 12 in scale][-1:]
            out += [Sounding(b, d, k, "in") for k in [*third, m - 12]]
    if style == "doubled":
        out += [Sounding(n.beat, n.beats, n.midi + 12, "in") for n in out if n.role == "bass" and n.midi < 45]
    return sorted(out, key=lambda n: n.beat)
