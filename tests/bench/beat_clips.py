"""What is played in the clips of ``render_beats``: tunes in beats, arranged, felt, and put into seconds.

One beat is what a player taps: a quarter in 2/4, 3/4 and 4/4, a dotted quarter in 6/8. Tunes come from the
folk songs, dances and chorales of the corpus that ships with music21 (all out of copyright), or are drawn at
random. All arranging is ours.
"""

import json
import random
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from music21 import converter, corpus, stream

from tests.bench.clip_notes import MAJOR, MINOR, Sounding, Tune, arrange, random_tune, voices_clip

QUARTERS_A_BEAT = {"2/4": 1.0, "3/4": 1.0, "4/4": 1.0, "6/8": 1.5}
COMPOUND_STYLES = ("block", "bare", "tenths", "thirds", "broken")
"""Textures of three-beat bars that suit bars of six eighths, too."""
STYLES = ("block", "block", "afterbeat", "afterbeat", "broken", "broken", "bare", "walking", "thirds",
          "tenths", "drone", "strum", "octaves")  # fmt: skip
ALONE_STYLES = ("strum", "afterbeat", "walking", "broken", "octaves")
"""Accompaniments that are also heard without a tune, as before a singer begins."""
ALONE_SHARE = 0.3
MOST_NOTES_A_S = 9.0
"""A tune is not played faster than this."""
LEAST_NOTES = 16
DRUMS = ("none", "eighths", "quarters", "sixteenths", "shuffle", "kick", "backbeat")
KICK, SNARE, HAT, RIDE, STICK = 36, 38, 42, 51, 37
"""General MIDI level 1 percussion keys."""


@dataclass(frozen=True, slots=True)
class Material:
    """Notes in beats."""

    title: str
    meter: str
    beats_a_bar: int
    notes: tuple[Sounding, ...]


def read_tunes(cache: Path) -> list[list]:
    """Title, meter, tonic, mode, notes (quarters) of monophonic tunes, and chorales as four voices."""
    if cache.exists():
        return [row for row in json.loads(cache.read_text()) if _on_the_beat(row)]
    paths = sorted(str(path) for path in corpus.getPaths())
    rng = random.Random(77)
    songs = [p for p in paths if "essenFolksong" in p and "/test" not in p and "/han" not in p]
    dances = rng.sample([p for p in paths if "ryansMammoth" in p], 120)
    chorales = rng.sample([p for p in paths if "/bach/bwv" in p and p.endswith(".mxl")], 80)
    found = []
    for path in songs + dances + chorales:
        parsed = converter.parse(path)
        scores = list(parsed.scores) if hasattr(parsed, "scores") else [parsed]
        for number, score in enumerate(rng.sample(scores, min(len(scores), 50))):
            row = _row(score, f"{Path(path).stem}-{number}")
            if row is not None:
                found.append(row)
    cache.write_text(json.dumps(found))
    return [row for row in found if _on_the_beat(row)]


def _on_the_beat(row: list) -> bool:
    """Whether more notes begin on beats than half a beat away: else its upbeat may be written wrongly."""
    starts = np.array([note[0] for note in row[4][0]]) / QUARTERS_A_BEAT[row[1]]
    away = np.abs((starts + 0.5) % 1.0 - 0.5)
    return float(np.mean(away < 0.1)) > float(np.mean(away > 0.25))


def _row(score: stream.Score, title: str) -> list | None:
    signatures = {s.ratioString for s in score.recurse().getElementsByClass("TimeSignature")}
    if len(signatures) != 1 or not score.parts:
        return None
    meter = signatures.pop()
    if meter not in QUARTERS_A_BEAT or len(score.parts) not in {1, 4}:
        return None
    first = score.parts[0].getElementsByClass("Measure").first()
    missing = 0.0 if first is None else first.paddingLeft
    voices = []
    for part in score.parts:
        plain = [n for n in part.stripTies().flatten().notes if not n.duration.isGrace]
        if any(n.isChord for n in plain) or min((n.quarterLength for n in plain), default=0) < 0.2:
            return None
        voices.append(
            [(float(n.offset) + missing, float(n.quarterLength), int(n.pitches[0].midi)) for n in plain]
        )
    if not LEAST_NOTES <= len(voices[0]) <= 500:
        return None
    key = score.analyze("key")
    return [title, meter, key.tonic.pitchClass, key.mode, voices]


def draw(rows: list[list], beats: float, bpm: float, rng: random.Random) -> Material:
    """One piece of about ``beats`` beats that can be played at ``bpm``."""
    for _ in range(200):
        material = _drawn(rows, beats, rng)
        heard = [n for n in material.notes if n.beat < beats]
        tune = [n for n in heard if n.role == "mel"]
        shortest = float(np.quantile([n.beats for n in tune or heard], 0.1))
        if len({n.beat for n in tune or heard}) >= LEAST_NOTES and bpm / 60 / shortest <= MOST_NOTES_A_S:
            return material
    raise ValueError(f"no tune can be played at {bpm:.0f} beats a minute")


def _drawn(rows: list[list], beats: float, rng: random.Random) -> Material:
    row = rng.choice(rows)
    if rng.random() < 0.3:
        tune = random_tune(rng, beats * 1.2)
        tune = _plain(tune, rng) if rng.random() < 0.6 else tune
        meter = "3/4" if tune.bar == 3 else "4/4"
    elif len(row[4]) == 4:
        bar = int(row[1][0])
        return Material(row[0], row[1], bar, tuple(voices_clip(row[4], rng, beats)))
    else:
        title, meter, tonic, mode, (notes,) = row
        bar = 3.0 if meter == "6/8" else float(meter[0])
        tune = Tune(title, tonic, MAJOR if mode == "major" else MINOR, bar, tuple(map(tuple, notes)))
    median = sorted(n[2] for n in tune.notes)[len(tune.notes) // 2]
    move = 12 * round((71 + rng.randint(-5, 5) - median) / 12) + rng.randint(-4, 4)
    tune = replace(tune, tonic=(tune.tonic + move) % 12,
                   notes=tuple((b, d, m + move) for b, d, m in tune.notes))  # fmt: skip
    style = rng.choice(COMPOUND_STYLES if meter == "6/8" else STYLES)
    low, middle = rng.choice((31, 36, 40, 43)), rng.choice((48, 52, 55))
    notes = arrange(tune, style, low=low, middle=middle, over=rng.choice((-2, 0, 3)), rng=rng)
    if style in ALONE_STYLES and meter != "6/8" and rng.random() < ALONE_SHARE:
        style, notes = style + " alone", [n for n in notes if n.role != "mel"]
    if rng.random() < 0.5:
        style, notes = "tune repeated/" + style, _twice(notes, tune)
    unit = QUARTERS_A_BEAT[meter]
    played = tuple(replace(n, beat=n.beat / unit, beats=n.beats / unit) for n in notes)
    return Material(f"{tune.title}/{style}", meter, 2 if meter == "6/8" else int(tune.bar), played)


def _plain(tune: Tune, rng: random.Random) -> Tune:
    """The pitches of a tune in whole beats, as the first pieces of a method have them."""
    values = rng.choice(((1.0,), (1.0, 1.0, 1.0, 2.0), (1.0, 2.0), (1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.5)))
    time, notes = 0.0, []
    for _, _, midi in tune.notes:
        for value in (0.5, 0.5) if (drawn := rng.choice(values)) == 0.5 else (drawn,):
            length = min(value, tune.bar - time % tune.bar)
            notes.append((time, length, midi))
            time += length
    return replace(tune, title="plain", notes=tuple(notes))


def _twice(notes: list[Sounding], tune: Tune) -> list[Sounding]:
    """Short songs again from the front, as singers do."""
    end = max(b + d for b, d, _ in tune.notes)
    length = tune.bar * np.ceil(end / tune.bar - 1e-6)
    kept = [n for n in notes if n.beat < length]
    return kept + [replace(n, beat=n.beat + length) for n in kept]


def drums(material: Material, kind: str, end: float, rng: random.Random) -> list[Sounding]:
    """A drummer who keeps to the beat; in bars of six eighths the eighths are thirds of a beat."""
    if kind == "none":
        return []
    bar, split = material.beats_a_bar, 3 if material.meter == "6/8" else 2
    out = []
    cymbal = rng.choice((HAT, HAT, RIDE))
    for beat in range(int(end)):
        place = beat % bar
        if kind in {"eighths", "sixteenths", "shuffle"}:
            parts = {"eighths": split, "sixteenths": 2 * split, "shuffle": split}[kind]
            steps = [k / parts for k in range(parts)]
            if kind == "shuffle" and split == 2:
                steps = [0.0, 0.5] if place % 2 else [0.0]
            out += [Sounding(beat + step, 0.1, cymbal, "drum") for step in steps]
        elif kind == "quarters":
            out.append(Sounding(beat, 0.1, cymbal, "drum"))
        if kind != "backbeat" and place == 0:
            out.append(Sounding(beat, 0.2, KICK, "drum"))
        if kind != "kick" and (place % 2 == 1 if bar != 3 else place > 0):
            out.append(Sounding(beat, 0.2, rng.choice((SNARE, SNARE, STICK)), "drum"))
    return out


def swung(notes: list[Sounding], share: float) -> list[Sounding]:
    """What lies on the second half of a beat comes later: ``share`` is the first half's part."""

    def late(beat: float) -> float:
        whole, part = divmod(beat, 1.0)
        return whole + float(np.interp(part, (0.0, 0.5, 1.0), (0.0, share, 1.0)))

    return [
        replace(n, beat=late(n.beat), beats=max(0.05, late(n.beat + n.beats) - late(n.beat))) for n in notes
    ]


@dataclass(frozen=True, slots=True)
class Clock:
    """From beats to seconds: a tempo that breathes by ``depth`` over ``every`` beats and slows at the end."""

    bpm: float
    depth: float
    every: float
    phase: float
    slowing: float
    end: float

    def times(self, beats: np.ndarray) -> np.ndarray:
        grid = np.arange(0, self.end + 8, 1 / 16)
        wave = 1 + self.depth * np.sin(self.phase + 2 * np.pi * grid / self.every)
        wave *= 1 - self.slowing * np.clip((grid - self.end + 4) / 4, 0, 1)
        seconds = np.concatenate(([0.0], np.cumsum(60 / (self.bpm * wave[:-1]) / 16))) + 0.4
        return np.interp(beats, grid, seconds)
