"""Fit the weights of `hearing.notes.doubt`: ``python -m tests.bench.train_doubt NOISES NOTES [--minutes M]``.

NOISES is a folder of sounds without notes as `tests.bench.handling` takes it, NOTES one of recordings with
known notes as `tests.bench.hearing` takes it; both must be others than those that are reported on. Every
claim of the ear is measured as at its later looks (none is withdrawn meanwhile), and logistic regression
(standardised signs, ridge penalty 1, classes weighed alike; Hastie, Tibshirani and Friedman, The Elements of
Statistical Learning, 2nd ed. 2009, section 4.4) tells the claims of true notes from those of noises.

Printed for each source and look: the weights in the order of `Character.signs` and the constant, and under
which limit how many true notes and noises would be withdrawn. Voices and guitars in NOTES are told by their
``kind``. The weights that stand there were fitted so, on more sounds than a folder here holds.
"""

import argparse
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from typing_extensions import override

from coach.hearing.engines import PitchEngine, engine_named
from coach.hearing.frames import RATE_HZ, PitchFrame
from coach.hearing.listening import BLOCK_S, PlayerEar
from coach.hearing.notes.character import character
from coach.hearing.notes.doubt import Doubt
from coach.hearing.notes.memory import SoundMemory
from coach.hearing.tracker import Source
from coach.music.tuning_system import A4_HZ, midi_to_hz
from tests.bench.handling import SOURCES, Sound, kinds_of, sound_of, stream_of

LATE_S = 0.22
NEAR_S, NEAR_MIDI = 0.06, 0.6
"""A claim so near to a true note is that note."""
LOST = (0.0, 0.001, 0.003, 0.01)
Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class Look:
    """A claim as it was measured once."""

    start_s: float
    pitch: float
    late: bool
    signs: Matrix


class Watching(Doubt):
    """Measures every claim and withdraws none."""

    def __init__(self, source: Source) -> None:
        super().__init__(source, A4_HZ)
        self.looks: list[Look] = []

    @override
    def stands(
        self,
        memory: SoundMemory,
        frames: list[PitchFrame],
        start_s: float,
        pitch: float,
        until_s: float,
        *,
        last: bool,
    ) -> bool:
        found = character(memory, frames, start_s, pitch, midi_to_hz(pitch, A4_HZ), until_s)
        if found is not None:
            self.looks.append(Look(start_s, pitch, until_s - start_s >= LATE_S, found.signs()))
        return True


def looks_at(sound: Sound, engine: PitchEngine, source: Source) -> list[Look]:
    """All looks at the claims in a sound at 16 kHz."""
    ear, watching = PlayerEar(RATE_HZ, engine, source=source), Watching(source)
    ear._segmenter._doubt = watching  # nothing else needs a seam here
    block = round(BLOCK_S * RATE_HZ)
    for first in range(0, len(sound), block):
        ear.push(sound[first : first + block])
    ear.flush()
    return watching.looks


def noises(folder: Path, engine: PitchEngine, source: Source, minutes: float) -> list[Look]:
    found: list[Look] = []
    for _, files in kinds_of(folder):
        stream = stream_of(files, minutes, np.random.default_rng(1), as_is=False)
        found += looks_at(stream, engine, source)
    return found


def notes(folder: Path, engine: PitchEngine, source: Source) -> list[Look]:
    """The looks at claims that are true notes."""
    found: list[Look] = []
    for clip in json.loads((folder / "manifest.json").read_text()):
        if source != "any" and (clip["kind"] == "voice") != (source == "voice"):
            continue
        for look in looks_at(sound_of(folder / "audio" / f"{clip['id']}.flac"), engine, source):
            found += [look] * any(
                abs(look.start_s - note["on"]) <= NEAR_S and abs(look.pitch - note["midi"]) <= NEAR_MIDI
                for note in clip["notes"]
            )
    return found


def fitted(noise: Matrix, true: Matrix, rounds: int = 50) -> Matrix:
    """Weights and constant, by Newton's method."""
    signs = np.concatenate([noise, true])
    label = np.repeat([0.0, 1.0], [len(noise), len(true)])
    alike = np.repeat([len(true) / len(noise), 1.0], [len(noise), len(true)])
    mean, spread = signs.mean(axis=0), np.maximum(signs.std(axis=0), 1e-9)
    wide = np.column_stack([(signs - mean) / spread, np.ones(len(signs))])
    ridge = np.diag([1.0] * signs.shape[1] + [0.0])
    weights = np.zeros(wide.shape[1])
    for _ in range(rounds):
        odds = 1.0 / (1.0 + np.exp(-np.clip(wide @ weights, -30.0, 30.0)))
        slope = wide.T @ (alike * (label - odds)) - ridge @ weights
        curve = (
            (wide * (alike * odds * (1.0 - odds))[:, np.newaxis]).T @ wide + ridge + 1e-9 * np.eye(len(ridge))
        )
        weights += np.linalg.solve(curve, slope)
    plain = weights[:-1] / spread
    return np.append(plain, weights[-1] - plain @ mean)


def main() -> None:
    parser = argparse.ArgumentParser(description="fit the weights that withdraw handling noises")
    parser.add_argument("noises", type=Path)
    parser.add_argument("notes", type=Path)
    parser.add_argument("--minutes", type=float, default=3.0, help="of each kind of noise")
    args = parser.parse_args()
    engine = engine_named("neural")
    for source in SOURCES:
        false, true = noises(args.noises, engine, source, args.minutes), notes(args.notes, engine, source)
        for late in (False, True):
            sides = [[look.signs for look in looks if look.late == late] for looks in (false, true)]
            print(f"\n{source}, {'late' if late else 'early'}: {len(sides[0])} noises, {len(sides[1])} notes")
            if min(len(side) for side in sides) == 0:
                continue
            noise, note = (np.array(side) for side in sides)
            weights = fitted(noise, note)
            print("weights " + ", ".join(f"{each:.2f}" for each in weights))
            left, kept = (side @ weights[:-1] + weights[-1] for side in (noise, note))
            for share in LOST:
                limit = float(np.quantile(kept, share))
                stay = np.mean(left >= limit)
                print(f"limit {limit:6.2f}: {share:5.1%} of the notes lost, {stay:6.1%} of the noises left")


if __name__ == "__main__":
    main()
