"""An hour of sound through the live ear: does its memory stay where it is?

Sung and plucked phrases, hum, noise, claps, taps and silence, made anew each minute from a fixed seed, go in
blocks of 10 ms through a `Listener` (which holds a `PlayerEar` and a `LevelMeter`) as fast as it takes them.
"""

import gc
import resource
import sys
from pathlib import Path
from random import Random

import numpy as np

from coach.drills.kinds import By
from coach.hearing.engines import PitchEngine
from coach.hearing.notes.events import NoteEnded
from coach.sessions.deafness import Deafness
from coach.sessions.listener import Listener
from tests.drill_answers import RATE_HZ as ANSWER_HZ
from tests.drill_answers import audio_of, struck_at
from tests.fake_sound import ScriptedInput, SteppedClock
from tests.synth import Audio, pink_noise

WARM_MIN = 10
"""Caches and rings are full by then."""
MOST_GROWTH = 0.02
"""A steady memory grows by less than this from then on: an allocator may wander by as much."""
_PAGE = resource.getpagesize()


def minute(number: int) -> Audio:
    """The sound of one minute, at 44.1 kHz."""
    rng = Random(number)
    parts: list[Audio] = []
    for by in (By.VOICE, By.GUITAR, By.GUITAR, By.VOICE):
        midis = [rng.randint(45, 69) for _ in range(12)]
        parts.append(audio_of(midis, by, rng))
    parts.append(struck_at([0.2 + 0.4 * i for i in range(10)], rng.choice(("clap", "tap")), rng))
    time = np.arange(6 * ANSWER_HZ) / ANSWER_HZ
    parts.append(
        np.asarray(0.03 * sum(np.sin(2 * np.pi * 100 * k * time) / k for k in (1, 2, 3)), np.float32)
    )
    parts.append(np.zeros(6 * ANSWER_HZ, np.float32))
    sound = np.concatenate(parts)[: 60 * ANSWER_HZ]
    sound = np.pad(sound, (0, 60 * ANSWER_HZ - len(sound)))
    noise = pink_noise(60.0, rate_hz=ANSWER_HZ, rms=10 ** rng.uniform(-4.0, -2.3), seed=number)
    return np.asarray(sound + noise, np.float32)


def memory_mb() -> float:
    """Memory of this process now (resident set), in megabytes."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * _PAGE / 1e6


def hour(engine: PitchEngine, minutes: int = 60) -> bool:
    """Print memory, Python objects and allocated blocks as the time goes on; give whether they stay."""
    clock = SteppedClock()
    microphone = ScriptedInput(clock, rate_hz=ANSWER_HZ)
    listener = Listener(microphone, engine, Deafness(None, clock), clock)
    listener.open()
    print(f"{'minute':>6} {'notes':>6} {'MB':>7} {'objects':>8} {'blocks':>8}")
    rows: list[tuple[float, int, int]] = []
    notes = 0
    for number in range(1, minutes + 1):
        microphone.say(minute(number))
        while microphone.said:
            hearing = listener.step()
            assert hearing is not None
            notes += sum(isinstance(event, NoteEnded) for event in hearing.chunk.events)
            del hearing
        gc.collect()
        rows.append((memory_mb(), len(gc.get_objects()), sys.getallocatedblocks()))
        if number % 5 == 0 or number == minutes:
            print(f"{number:6} {notes:6} {rows[-1][0]:7.1f} {rows[-1][1]:8} {rows[-1][2]:8}", flush=True)
    warm, end = rows[min(WARM_MIN, minutes) - 1], rows[-1]
    growth = [after / before - 1 for before, after in zip(warm, end, strict=True)]
    print(f"from minute {min(WARM_MIN, minutes)} on: " + ", ".join(f"{each:+.2%}" for each in growth))
    return max(growth) < MOST_GROWTH
