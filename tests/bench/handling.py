"""What the ear makes of sounds without notes: handling, knocks, creaks, the room, speech.

Usage: ``python -m tests.bench.handling FOLDER [--minutes M] [--seed N] [--source NAME] [--as-is]``.

FOLDER holds sound files without any note in them, of any rate and format that soundfile reads, or folders of
such files: each folder is a kind. The files of a kind are put into a quiet room one after the other, at
levels and after pauses that the seed chooses, until M minutes are full (``--as-is``: each file once, at the
level it has), and heard by the live ear in blocks of 10 ms, as a guitar, as a voice and as either.

For each kind and source: notes that end up in the result and notes that were claimed and withdrawn, in ten
minutes; and from when on the room was said to talk, with the notes claimed after it.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from coach.hearing.decimate import Decimator
from coach.hearing.engines import PitchEngine, engine_named
from coach.hearing.frames import RATE_HZ
from coach.hearing.listening import BLOCK_S, PlayerEar
from coach.hearing.notes.events import NoteBegan, NoteEnded, NoteWithdrawn
from coach.hearing.tracker import Source
from tests.synth import pink_noise

Sound = NDArray[np.float32]
SOURCES: tuple[Source, ...] = ("guitar", "voice", "any")
SUFFIXES = {".wav", ".flac", ".ogg", ".oga", ".aiff", ".mp3"}
PEAK_DB = (-32.0, -6.0)
"""From a sleeve at the far end of the table to a knock beside the microphone."""
PAUSE_S = (0.15, 1.2)
ROOM_RMS = 0.0005
"""-66 dB re full scale, a quiet room."""
TEN_MIN_S = 600.0


@dataclass
class Tally:
    """What one source heard in one stream."""

    notes: list[NoteEnded]
    withdrawn: int
    talks_at_s: float | None
    after_talk: int


def sound_of(path: Path) -> Sound:
    """A file as mono at 16 kHz."""
    samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    decimator = Decimator(rate_hz)
    return np.concatenate([decimator.push(samples.mean(axis=1)), decimator.flush()])


def kinds_of(folder: Path) -> Iterator[tuple[str, list[Path]]]:
    for each in [folder, *sorted(path for path in folder.iterdir() if path.is_dir())]:
        files = sorted(path for path in each.iterdir() if path.suffix.lower() in SUFFIXES)
        if files:
            yield each.name, files


def stream_of(files: list[Path], minutes: float, rng: np.random.Generator, *, as_is: bool) -> Sound:
    """The files of a kind one after the other in a quiet room."""
    sounds = [sound_of(path) for path in files]
    parts: list[Sound] = []
    order: list[int] = []
    length = 0
    while as_is or length < minutes * 60 * RATE_HZ:
        if not order:
            if as_is and parts:
                break
            order = [int(number) for number in rng.permutation(len(sounds))]
        sound = sounds[order.pop()]
        peak = float(np.abs(sound).max())
        gain = 1.0 if as_is or peak == 0.0 else 10.0 ** (rng.uniform(*PEAK_DB) / 20.0) / peak
        pause = np.zeros(round(rng.uniform(*PAUSE_S) * RATE_HZ), np.float32)
        parts += [pause, np.asarray(gain * sound, np.float32)]
        length += len(pause) + len(sound)
    stream = np.concatenate([*parts, np.zeros(RATE_HZ, np.float32)])
    room = pink_noise(
        len(stream) / RATE_HZ + 0.01, rate_hz=RATE_HZ, rms=ROOM_RMS, seed=int(rng.integers(2**31))
    )
    return np.asarray(stream + room[: len(stream)], np.float32)


def heard(stream: Sound, engine: PitchEngine, source: Source) -> Tally:
    ear = PlayerEar(RATE_HZ, engine, source=source)
    block = round(BLOCK_S * RATE_HZ)
    tally = Tally([], 0, None, 0)
    for first in range(0, len(stream) + block, block):
        chunk = ear.push(stream[first : first + block]) if first < len(stream) else ear.flush()
        for event in chunk.events:
            match event:
                case NoteBegan():
                    tally.after_talk += tally.talks_at_s is not None
                case NoteEnded():
                    tally.notes.append(event)
                case NoteWithdrawn():
                    tally.withdrawn += 1
                case _:
                    pass
        if chunk.room_talks and tally.talks_at_s is None:
            tally.talks_at_s = first / RATE_HZ
    return tally


def row(name: str, stream: Sound, engine: PitchEngine, sources: tuple[Source, ...]) -> str:
    ten = len(stream) / RATE_HZ / TEN_MIN_S
    cells = []
    for source in sources:
        tally = heard(stream, engine, source)
        talk = "" if tally.talks_at_s is None else f" (talk {tally.talks_at_s:.1f} s: {tally.after_talk})"
        cells.append(f"{source} {len(tally.notes) / ten:6.1f} {tally.withdrawn / ten:6.1f}{talk}")
    return f"{name:16} {10 * ten:5.1f} min  " + "   ".join(cells)


def main() -> None:
    parser = argparse.ArgumentParser(description="what the ear makes of sounds without notes")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--source", choices=SOURCES, action="append")
    parser.add_argument("--as-is", action="store_true", help="each file once, at its own level")
    args = parser.parse_args()
    engine = engine_named("auto")
    print("in ten minutes: notes that stay, and notes claimed and withdrawn")
    for name, files in kinds_of(args.folder):
        rng = np.random.default_rng(args.seed)
        stream = stream_of(files, args.minutes, rng, as_is=args.as_is)
        print(row(name, stream, engine, tuple(args.source or SOURCES)), flush=True)


if __name__ == "__main__":
    main()
