"""Note lists for the clips that the evidence model learns on: corpus tunes arranged by rules of ours.

A clip is a list of :class:`Sounding`: beats, MIDI numbers, and a role: ``mel`` the melody, ``bass`` the bass
line, ``in`` everything else. Tunes come from the corpus that ships with music21 (chorales, folk songs, fiddle
tunes, quartets: all out of copyright) or are drawn at random.
"""

import json
import random
from dataclasses import dataclass, replace
from pathlib import Path

from music21 import converter, corpus, stream

MAJOR, MINOR = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10)


@dataclass(frozen=True, slots=True)
class Sounding:
    beat: float
    beats: float
    midi: int
    role: str


@dataclass(frozen=True, slots=True)
class Tune:
    """A melody with its home note (pitch class), its scale and the beats of a bar."""

    title: str
    tonic: int
    scale: tuple[int, ...]
    bar: float
    notes: tuple[tuple[float, float, int], ...]


def _monophonic(part: stream.Stream) -> list[tuple[float, float, int]] | None:
    found = []
    for note in part.stripTies().flatten().notes:
        if note.isChord or note.duration.isGrace:
            return None
        if note.quarterLength > 0:
            found.append((float(note.offset), float(note.quarterLength), int(note.pitch.midi)))  # type: ignore[attr-defined]
    return found


def _tune(score: stream.Score, title: str) -> Tune | None:
    times = list(score.recurse().getElementsByClass("TimeSignature"))
    notes = _monophonic(score.parts[0])
    if not times or notes is None or not 16 <= len(notes) <= 400 or min(n[1] for n in notes) < 0.2:
        return None
    key = score.analyze("key")
    scale = MAJOR if key.mode == "major" else MINOR
    bar = float(times[0].barDuration.quarterLength)
    return Tune(title, key.tonic.pitchClass, scale, bar, tuple(notes))


def _voices(score: stream.Score) -> list[list[tuple[float, float, int]]] | None:
    parts = [_loose(part) for part in score.parts]
    return parts if len(parts) == 4 and all(len(part) > 12 for part in parts) else None


def _loose(part: stream.Stream) -> list[tuple[float, float, int]]:
    found = []
    for note in part.stripTies().flatten().notes:
        if note.duration.isGrace or note.quarterLength < 0.2:
            continue
        found += [(float(note.offset), float(note.quarterLength), int(p.midi)) for p in note.pitches]
    return found


def read_corpus(cache: Path, *, tunes: int, chorales: int, quartets: int) -> dict[str, list[object]]:
    """Read what the clips need once; kept as JSON because parsing is slow."""
    if cache.exists():
        return json.loads(cache.read_text())  # type: ignore[no-any-return]
    rng = random.Random(2024)
    paths = sorted(str(path) for path in corpus.getPaths())
    out: dict[str, list[object]] = {"tunes": [], "chorales": [], "quartets": []}
    fiddle = rng.sample([p for p in paths if "ryansMammoth" in p], tunes)
    songs = rng.sample([p for p in paths if "essenFolksong" in p and "/test" not in p and "/han" not in p], 5)
    for path in fiddle + songs:
        parsed = converter.parse(path)
        scores = list(parsed.scores) if hasattr(parsed, "scores") else [parsed]
        for number, score in enumerate(scores[:60]):
            tune = _tune(score, f"{Path(path).stem}-{number}") if score.parts else None
            if tune is not None:
                out["tunes"].append([tune.title, tune.tonic, tune.scale, tune.bar, tune.notes])
    for name, wanted, pick in (
        ("chorales", chorales, [p for p in paths if "/bach/bwv" in p and p.endswith(".mxl")]),
        (
            "quartets",
            quartets,
            [p for p in paths if ("/haydn/" in p or "/mozart/k" in p) and p.endswith(".mxl")],
        ),
    ):
        rng.shuffle(pick)
        for path in pick[: wanted * 2]:
            voices = _voices(converter.parse(path))
            if voices is not None and len(out[name]) < wanted:
                out[name].append([Path(path).stem, voices])
    cache.write_text(json.dumps(out))
    return out


def random_tune(rng: random.Random, length: float) -> Tune:
    """A tune walked by steps, skips and a few leaps, with repeats; ours."""
    tonic, scale, bar = rng.randrange(12), rng.choice((MAJOR, MINOR)), rng.choice((4.0, 4.0, 3.0))
    values = rng.choice(
        ((1, 1, 1, 2, 0.5, 0.5), (1, 0.5, 0.5, 0.5, 1.5), (2, 1, 1, 3), (0.5, 0.5, 0.25, 0.25, 1))
    )
    degree, time, notes = rng.randrange(7), 0.0, []
    while time < length:
        value = min(float(rng.choice(values)), bar - time % bar)
        midi = 60 + (tonic + 6) % 12 - 6 + 12 * (degree // 7) + scale[degree % 7]
        midi += rng.choice((-1, 1)) if rng.random() < 0.06 else 0
        if rng.random() > 0.06:
            notes.append((time, value, midi))
        time += value
        degree = min(11, max(-4, degree + rng.choice((-2, -1, -1, -1, 0, 1, 1, 1, 2, 3, 4, -3, -4, 7, -7))))
    return Tune("random", tonic, scale, bar, tuple(notes))


def _chords(tune: Tune, step: float, rng: random.Random) -> list[tuple[float, tuple[int, ...]]]:
    """Triads that hold the melody, one each ``step`` beats; the root stands first."""
    roots = rng.sample(range(7), 7)
    found, end, last = [], max(n[0] + n[1] for n in tune.notes), -1
    time = 0.0
    while time < end:
        held = [n for n in tune.notes if n[0] < time + step and n[0] + n[1] > time]

        def score(degree: int, held: list[tuple[float, float, int]] = held, last: int = last) -> float:
            triad = {(tune.tonic + tune.scale[(degree + k) % 7]) % 12 for k in (0, 2, 4)}
            fit = sum(n[1] for n in held if n[2] % 12 in triad)
            return fit + 0.3 * (degree in {0, 3, 4}) - 0.4 * (degree == last) + 0.3 * rng.random()

        last = max(roots, key=score)
        sizes = (0, 2, 4, 6) if rng.random() < 0.15 else (0, 2, 4)
        found.append((time, tuple((tune.tonic + tune.scale[(last + k) % 7]) % 12 for k in sizes)))
        time += step
    return found


STYLES = ("block", "afterbeat", "broken", "bare", "walking", "thirds", "tenths", "drone", "strum", "octaves")


def arrange(
    tune: Tune, style: str, *, low: int, middle: int, over: int, rng: random.Random
) -> list[Sounding]:
    """Melody, bass and a filling; ``over``: how far the filling may climb above the melody, in semitones."""
    step = tune.bar if tune.bar <= 3 else rng.choice((2.0, tune.bar))
    out = [Sounding(b, d, m, "mel") for b, d, m in tune.notes]
    for time, chord in _chords(tune, step, rng):
        root = chord[0] if rng.random() < 0.75 else rng.choice(chord)
        bass = low + (root - low) % 12
        held = [n[2] for n in tune.notes if n[0] < time + step and n[0] + n[1] > time] or [72]
        top = max(min(held) + over, middle + 5)
        filling = [m for m in range(max(middle, bass + 2), top) if m % 12 in chord][
            -rng.choice((2, 3, 3, 4)) :
        ]
        out += _bar(style, time, step, bass, chord, filling, rng)
    if style == "thirds":
        steps = sorted((tune.tonic + s) % 12 for s in tune.scale)
        for b, d, m in tune.notes:
            below = [k for k in range(m - 4, m - 2) if k % 12 in steps]
            out += [Sounding(b, d, below[0], "in")] if below else []
    if style == "octaves":
        out += [Sounding(b, d, m - 12, "in") for b, d, m in tune.notes]
    return out


def _bar(
    style: str,
    time: float,
    step: float,
    bass: int,
    chord: tuple[int, ...],
    filling: list[int],
    rng: random.Random,
) -> list[Sounding]:
    beats = [time + k for k in range(int(step))]
    match style:
        case "afterbeat":
            out = [Sounding(time, 1, bass, "bass")]
            out += [Sounding(b, 0.8, m, "in") for b in beats[1:] for m in filling]
        case "broken":
            order = filling + filling[-2:0:-1]
            out = [Sounding(time, step, bass, "bass")]
            count = int(2 * step)
            out += [
                Sounding(time + k / 2, 0.5, order[k % len(order)], "in") for k in range(1, count) if order
            ]
        case "bare" | "thirds":
            out = [Sounding(time, step, bass, "bass")]
        case "walking":
            out, place = [], bass
            for b in beats:
                out.append(Sounding(b, 1, place, "bass"))
                place = max(bass - 5, min(bass + 12, place + rng.choice((-2, -1, 1, 2, 3, 4, 5))))
            out += [Sounding(time, step, m, "in") for m in filling]
        case "tenths":
            tenth = [m for m in range(bass + 14, bass + 18) if m % 12 in chord]
            out = [Sounding(time, step, bass, "bass"), *(Sounding(time, step, m, "in") for m in tenth)]
        case "drone":
            fifth = bass + 7
            out = [Sounding(b, 1, bass, "bass") for b in beats[::2]]
            out += [Sounding(b, 2, fifth, "in") for b in beats[::2]]
        case "strum":
            out = [Sounding(time, step, bass, "bass")]
            for b in beats:
                out += [Sounding(b + 0.02 * k, 0.9, m, "in") for k, m in enumerate(filling)]
        case "octaves":
            out = [Sounding(time, step, bass, "bass"), Sounding(time, step, bass + 12, "in")]
            out += [Sounding(b, 0.9, m, "in") for b in beats[1:] for m in filling[-2:]]
        case _:
            out = [Sounding(time, step, bass, "bass")]
            out += [Sounding(time, step, m, "in") for m in filling]
    return out


def voices_clip(
    voices: list[list[tuple[float, float, int]]], rng: random.Random, beats: float
) -> list[Sounding]:
    """An excerpt of four-part writing with none to all of its inner voices."""
    end = max(n[0] + n[1] for n in voices[0])
    start = rng.choice([4.0 * k for k in range(max(1, int((end - beats) / 4)))])
    kept = rng.choice(((), (1,), (2,), (1, 2), (1, 2)))
    out = []
    for number, voice in enumerate(voices):
        role = {0: "mel", 3: "bass"}.get(number, "in")
        if role == "in" and number not in kept:
            continue
        out += [Sounding(b - start, d, m, role) for b, d, m in voice if start <= b < start + beats]
    return out


def shifted(notes: list[Sounding], semitones: int, role: str | None = None) -> list[Sounding]:
    return [replace(n, midi=n.midi + semitones) if role in {None, n.role} else n for n in notes]
