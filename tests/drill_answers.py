"""Answers to prompts, made by the test's own synthesiser: right, a semitone off, in another octave."""

from collections.abc import Sequence
from pathlib import Path
from random import Random

import numpy as np

from coach.drills.data import Drill
from coach.drills.kinds import By, Rule
from coach.drills.loading import load_drills
from coach.drills.prompt import Prompt
from coach.music import PerformedNote, Span
from tests.synth import Audio, clap, place, pluck, tap, voice

RATE_HZ = 44_100
TUNE = (71, 69, 67, 62, 64, 67, 64, 62, 67, 69, 71, 69)
"""The first section of the first bundled piece."""


def all_drills(folder: str = "exercises/drills") -> tuple[Drill, ...]:
    """The project's own drills."""
    root = Path(__file__).parents[1] / folder
    return load_drills((path.name, path.read_bytes()) for path in root.glob("*.toml"))


def audio_of(midis: Sequence[int], by: By, rng: Random, *, lead_s: float | None = None) -> Audio:
    """Notes sung or plucked one after the other, after some silence, as a person might."""
    at_s = rng.uniform(0.2, 0.7) if lead_s is None else lead_s
    parts: list[tuple[float, Audio]] = []
    for midi, following in zip(midis, (*midis[1:], None), strict=True):
        length_s = rng.uniform(0.5, 0.75)
        hz = 440.0 * 2 ** ((midi - 69) / 12)
        if by is By.VOICE:
            off = 2 ** (rng.uniform(-12, 12) / 1200)
            noise = np.random.default_rng(rng.getrandbits(32))
            sound = voice(
                hz * off,
                length_s - 0.05,
                rate_hz=RATE_HZ,
                vibrato_cents=rng.uniform(0, 35),
                scoop_cents=rng.uniform(0, 120),
                level=rng.uniform(0.1, 0.35),
                rng=noise,
            )
        else:
            off = 2 ** (rng.uniform(-6, 6) / 1200)
            # Plucking a string again stops it first; another string lets it ring on.
            ring_s = rng.uniform(0.1, 0.5) if midi != following else 0.0
            sound = pluck(hz * off, length_s + ring_s, rate_hz=RATE_HZ, level=rng.uniform(0.15, 0.35))
        parts.append((at_s, sound))
        at_s += length_s
    return place(parts, at_s + 0.4, rate_hz=RATE_HZ)


def struck_at(times_s: Sequence[float], how: str, rng: Random, *, late_s: float = 0.0) -> Audio:
    """Claps, taps on the body or plucks at given moments, a human's 12 ms off."""
    parts = []
    for at_s in times_s:
        if how == "clap":
            sound = clap(rate_hz=RATE_HZ, seed=rng.getrandbits(16))
        elif how == "tap":
            sound = tap(rate_hz=RATE_HZ)
        else:
            sound = pluck(196.0, 0.5, rate_hz=RATE_HZ)
        parts.append((max(0.0, at_s + late_s + rng.gauss(0, 0.012)), sound))
    return place(parts, max(times_s) + late_s + 1.5, rate_hz=RATE_HZ)


def performed(midis: Sequence[int], *, cents: float = 0.0, start_s: float = 0.8) -> tuple[PerformedNote, ...]:
    """Notes as a perfect ear would give them, half a second each."""
    return tuple(
        PerformedNote(
            Span(start_s + 0.6 * index, start_s + 0.6 * index + 0.5),
            midi,
            cents,
            0.95,
            midi,
            start_s + 0.6 * index + 0.1,
        )
        for index, midi in enumerate(midis)
    )


def octave_right(prompt: Prompt, octaves: int) -> bool:
    return {
        Rule.EXACT: octaves == 0,
        Rule.ANY_OCTAVE: True,
        Rule.OCTAVE_UP_OK: octaves in {0, 1},
    }[prompt.rule]
