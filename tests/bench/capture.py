"""How well takes are written down: ``python -m tests.bench.capture DATA [--render SEED] [--unlike SEED]``.

DATA holds pairs ``NAME.wav`` and ``NAME.json``: ``{"line", "source", "tempo_bpm", "offset_s", "meter",
"grid", "notes": [[onset, duration, midi], ...]}`` with musical times as fraction strings. ``--render`` first
fills DATA with takes of our own simulated player (60 to 100 bpm, 25 ms timing, off-beats), ``--unlike`` with
takes of soundfont instruments and of another voice, in more meters (`tests.bench.capture_takes`). ``--each``
prints every take.

The peer is the usual way: every heard onset to the nearest sixteenth (or triplet), every length likewise.
"""

import argparse
import json
from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

import mir_eval
import numpy as np
import soundfile

from coach.hearing.engines import engine_named
from coach.hearing.listening import listen
from coach.music import BeatGrid, Meter, PerformedNote
from coach.music.tuning_system import midi_to_hz
from coach.notation import LineKind
from coach.pieces.capture import Feel, capture
from coach.tones.learner import Manner, plucked, sung
from coach.tones.prompt import PromptNote
from tests.bench.capture_takes import RATE_HZ as TAKE_HZ
from tests.bench.capture_takes import takes

Written = tuple[Fraction, Fraction, int]
RATE_HZ = 44100
BEFORE = 8
"""Quarters put before all notes: mir_eval takes no times below zero, and an upbeat has them."""
LENGTHS = {
    Feel.STRAIGHT: ["1", "1", "2", "1/2 1/2", "3/2 1/2", "1/2 1 1/2"],
    Feel.TRIPLET: ["1", "1", "1/3 1/3 1/3", "2/3 1/3", "2"],
    Feel.SWING: ["1", "2/3 1/3", "2"],
}


def a_line(rng: Random, feel: Feel, low: int) -> list[Written]:
    scale, place, at, notes = [0, 2, 4, 5, 7, 9, 11, 12], 2, Fraction(0), []
    while at < 32:
        for length in map(Fraction, rng.choice(LENGTHS[feel]).split()):
            place = min(7, max(0, place + rng.choice([-2, -1, 1, 2, 0])))
            notes.append((at, length, low + scale[place]))
            at += length
    return notes


def render(folder: Path, seed: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    rng = Random(seed)
    for source in ("voice", "guitar"):
        for feel in Feel:
            for number in range(4):
                tempo, offset_s = round(rng.uniform(60, 100), 1), 1.0
                low = rng.choice([48, 50, 52, 55]) if source == "voice" else rng.choice([40, 43, 52, 55, 60])
                notes = a_line(rng, feel, low)
                grid = BeatGrid.steady(tempo, offset_s)
                prompt = [PromptNote(m, grid.second_of(a), grid.second_of(a + d)) for a, d, m in notes]
                play = sung if source == "voice" else plucked
                sound = play(prompt, RATE_HZ, rng, manner=Manner(timing_s=0.025))
                name = f"{source}_{feel}_{number}"
                soundfile.write(folder / f"{name}.wav", sound, RATE_HZ)
                value = {
                    "line": "melody",
                    "source": source,
                    "tempo_bpm": tempo,
                    "offset_s": offset_s,
                    "meter": "4/4",
                    "grid": feel.value,
                    "notes": [[str(a), str(d), m] for a, d, m in notes],
                }
                (folder / f"{name}.json").write_text(json.dumps(value))


def render_unlike(folder: Path, seed: int, each: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for take in takes(seed, each):
        name = take.name.replace(" ", "-").replace(",", "")
        soundfile.write(folder / f"{name}.wav", take.sound, TAKE_HZ)
        value = {
            "line": "melody",
            "source": take.source,
            "tempo_bpm": take.tempo_bpm,
            "offset_s": take.offset_s,
            "meter": take.meter,
            "grid": take.grid,
            "notes": [[str(a), str(d), m] for a, d, m in take.notes],
        }
        (folder / f"{name}.json").write_text(json.dumps(value))


def ours(heard: Sequence[PerformedNote], about: dict[str, Any], grid: BeatGrid) -> list[Written]:
    found = capture(
        heard,
        grid,
        kind=LineKind(about["line"]),
        meter=Meter.parse(about["meter"]),
        feel=Feel(about["grid"]),
    )
    return [(n.onset + found.first_quarter, n.duration, n.midi) for n in found.line]


def nearest(heard: Sequence[PerformedNote], about: dict[str, Any], grid: BeatGrid) -> list[Written]:
    parts = 4 if about["grid"] == "straight" else 3

    def place(second: float) -> Fraction:
        return Fraction(round(grid.quarter_of(second) * parts), parts)

    return [
        (place(n.span.start_s), max(place(n.span.end_s) - place(n.span.start_s), Fraction(1, parts)), n.midi)
        for n in heard
    ]


def scores(meant: list[Written], got: list[Written]) -> tuple[float, float]:
    """F1 of onsets and pitches (mir_eval.transcription, quarters as seconds); share of right rhythm."""
    if not got:
        return 0.0, 0.0

    def arrays(notes: list[Written]) -> tuple[np.ndarray, np.ndarray]:
        return np.array([[float(a + BEFORE), float(a + d + BEFORE)] for a, d, _ in notes]), np.array(
            [midi_to_hz(m) for *_, m in notes]
        )

    f1 = mir_eval.transcription.precision_recall_f1_overlap(*arrays(meant), *arrays(got), offset_ratio=None)[
        2
    ]
    placed = {(a, m): d for a, d, m in got}
    return float(f1), sum(placed.get((a, m)) == d for a, d, m in meant) / len(meant)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--render", type=int, metavar="SEED")
    parser.add_argument("--unlike", type=int, metavar="SEED")
    parser.add_argument("--takes", type=int, default=5, help="of each voice or instrument and grid")
    parser.add_argument(
        "--source", choices=("any", "voice", "guitar"), help="what the ear is told; else the truth"
    )
    parser.add_argument("--each", action="store_true")
    args = parser.parse_args()
    if args.unlike is not None:
        render_unlike(args.data, args.unlike, args.takes)
    if args.render is not None:
        render(args.data, args.render)
    engine = engine_named("auto")
    table: dict[tuple[str, str, str], list[tuple[float, float]]] = defaultdict(list)
    for path in sorted(args.data.glob("*.json")):
        about = json.loads(path.read_text())
        sound, rate_hz = soundfile.read(path.with_suffix(".wav"), dtype="float32", always_2d=True)
        heard = listen(
            sound.mean(axis=1), rate_hz, engine=engine, source=args.source or about["source"]
        ).notes
        grid = BeatGrid.steady(about["tempo_bpm"], about["offset_s"])
        meant = [(Fraction(a), Fraction(d), m) for a, d, m in about["notes"]]
        for name, way in (("ours", ours), ("nearest", nearest)):
            table[about["source"], about["grid"], name].append(scores(meant, way(heard, about, grid)))
        if args.each:
            f1, rhythm = table[about["source"], about["grid"], "ours"][-1]
            print(f"{path.stem:50} {f1:.3f} {rhythm:.3f}")
    print(f"{'source':8} {'grid':10} {'way':8} {'takes':>5} {'note F1':>8} {'rhythm':>8}")
    for (source, feel, name), rows in sorted(table.items()):
        f1, rhythm = np.mean(rows, axis=0)
        print(f"{source:8} {feel:10} {name:8} {len(rows):5d} {f1:8.3f} {rhythm:8.3f}")


if __name__ == "__main__":
    main()
