"""Takes unlike our simulated player's: soundfont instruments, and a voice of other vowels and joins.

The voice is made of formants of five vowels (Peterson and Barney, "Control methods used in a study of the
vowels", JASA 24, 1952, table II: men's and women's averages), sung legato with a glide from note to note, or
with a soft consonant before each note. Instruments are General MIDI programs of whatever soundfont is given.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from random import Random

import numpy as np
from numpy.typing import NDArray

from coach.music import BeatGrid
from coach.music.tuning_system import midi_to_hz
from tests.soundfont import recorded

RATE_HZ = 44_100
PLUCKED = (24, 25, 26, 27, 32, 33, 34)
"""General MIDI level 1 from 0: nylon, steel, jazz and clean guitar; acoustic, fingered and picked bass."""
LOW = {24: 52, 25: 52, 26: 50, 27: 55, 32: 40, 33: 40, 34: 43}
VOWELS = {
    "man, ee": (270, 2290, 3010),
    "man, oo": (300, 870, 2240),
    "man, aw": (570, 840, 2410),
    "woman, ah": (850, 1220, 2810),
    "woman, eh": (610, 2330, 2990),
}
WIDTHS_HZ = (70.0, 100.0, 150.0)
TIMING_S = 0.025
Written = tuple[Fraction, Fraction, int]
FIGURES = {
    "straight": [
        "1 1",
        "2",
        "1/2 1/2 1",
        "3/2 1/2",
        "1/2 1 1/2",
        "1 1/2 1/2",
        "1/2 3/2",
        "3 1",
        "-1/2 1/2 1",
    ],
    "swing": ["2/3 1/3 1", "2", "2/3 1/3 2/3 1/3", "1 2/3 1/3", "2/3 4/3", "-2/3 1/3 1"],
    "triplet": ["1/3 1/3 1/3 1", "2/3 1/3 1", "2", "1 1/3 2/3", "1/3 1/3 1/3 1/3 1/3 1/3", "-1/3 2/3 1"],
    "compound": ["3/2", "1 1/2", "1/2 1/2 1/2", "3", "3/2 1 1/2", "-1/2 1/2 1/2"],
}
"""Rhythms of common practice, in quarters; a rest is negative."""


@dataclass(frozen=True, slots=True)
class Take:
    """One take: how it was made, and what was meant."""

    name: str
    source: str
    meter: str
    grid: str
    tempo_bpm: float
    offset_s: float
    notes: tuple[Written, ...]
    sound: NDArray[np.float32]


def a_line(rng: Random, figures: Sequence[str], low: int, bar: Fraction, upbeat: Fraction) -> list[Written]:
    """Eight bars on a scale, with leaps, repeated notes, rests and notes tied over the bar."""
    scale = [0, 2, 3, 5, 7, 8, 10, 12, 14, 15] if rng.random() < 0.4 else [0, 2, 4, 5, 7, 9, 11, 12, 14, 16]
    place, at, notes = rng.randrange(2, 6), -upbeat, []
    while at < 8 * bar:
        for length in map(Fraction, rng.choice(figures).split()):
            if length > 0 and at < 8 * bar:
                place = min(9, max(0, place + rng.choice([-2, -1, -1, 0, 1, 1, 2, 3, -3, 4])))
                notes.append((at, min(length, 8 * bar - at), low + scale[place]))
            at += abs(length)
    return notes


def human(notes: Sequence[Written], grid: BeatGrid, rng: Random) -> list[tuple[int, float, float]]:
    """The notes in seconds, each onset off by a human's error; gaps between them are a breath short."""
    starts = [max(0.05, grid.second_of(at) + rng.gauss(0.0, TIMING_S)) for at, _, _ in notes]
    told = []
    for index, (at, length, midi) in enumerate(notes):
        end_s = grid.second_of(at + length * Fraction(rng.randint(80, 98), 100))
        if index + 1 < len(notes):
            end_s = min(end_s, starts[index + 1] - 0.01)
        told.append((midi, starts[index], max(end_s, starts[index] + 0.08)))
    return told


def voice(
    notes: Sequence[tuple[int, float, float]], rng: Random, vowel: str, *, legato: bool
) -> NDArray[np.float32]:
    """The notes sung: harmonics under formants, with vibrato, jitter, glides and breath."""
    formants, count = VOWELS[vowel], round((notes[-1][2] + 0.4) * RATE_HZ)
    noise = np.random.default_rng(rng.getrandbits(32))
    time = np.arange(count) / RATE_HZ
    midi, loud = np.full(count, float(notes[0][0])), np.zeros(count)
    for index, (pitch, start_s, end_s) in enumerate(notes):
        first, last = round(start_s * RATE_HZ), round(end_s * RATE_HZ)
        joined = legato and index > 0 and start_s - notes[index - 1][2] < 0.12
        midi[first:] = pitch + rng.gauss(0.0, 0.12)
        glide = round((0.07 if joined else 0.04) * RATE_HZ)
        before = midi[first - 1] if joined else pitch - rng.uniform(0.2, 1.2)
        ramp = 0.5 - 0.5 * np.cos(np.pi * np.arange(glide) / glide)
        begin = max(0, first - glide // 2)
        midi[begin : begin + glide] = before + (midi[first + glide] - before) * ramp[: count - begin]
        rise, fall = round(0.05 * RATE_HZ), round(0.07 * RATE_HZ)
        shape = np.ones(max(last - first, rise + fall))
        shape[:rise] = np.linspace(0.25 if joined else 0.0, 1.0, rise)
        shape[-fall:] = np.linspace(1.0, 0.25 if legato else 0.0, fall)
        stop = min(count, first + len(shape))
        loud[first:stop] = np.maximum(loud[first:stop], shape[: stop - first] * rng.uniform(0.7, 1.0))
    midi += 0.2 * np.sin(2 * np.pi * (5.2 * time + rng.random())) * np.clip(loud, 0, 1)
    midi += np.interp(time, time[::441], np.cumsum(noise.normal(0, 0.008, len(time[::441]))) * 0.3)
    hz = midi_to_hz(0) * 2.0 ** (midi / 12.0)
    phase, out = 2 * np.pi * np.cumsum(hz) / RATE_HZ, np.zeros(count)
    for number in range(1, 30):
        partial = number * hz
        gain = sum(
            (0.6**k) / (1.0 + ((partial - at) / width) ** 2)
            for k, (at, width) in enumerate(zip(formants, WIDTHS_HZ, strict=True))
        )
        out += np.where(partial < 8000, (gain + 0.02) / number**0.8, 0.0) * np.sin(number * phase)
    out = out / np.abs(out).max() * loud + noise.standard_normal(count) * 10 ** (-50 / 20)
    return np.asarray(0.4 * out / np.abs(out).max(), np.float32)


def takes(seed: int, each: int) -> list[Take]:
    """So many takes of every source and grid."""
    rng = Random(seed)
    wanted = product(("voice", "guitar"), FIGURES, range(each))
    return [_take(rng, source, figures, number) for source, figures, number in wanted]


def _take(rng: Random, source: str, figures: str, number: int) -> Take:
    compound = figures == "compound"
    meter, bar = (
        ("6/8", Fraction(3)) if compound else rng.choice([("4/4", Fraction(4)), ("3/4", Fraction(3))])
    )
    feel = "straight" if compound else figures
    upbeat = rng.choice([Fraction(0), Fraction(1, 2) if feel == "straight" else Fraction(1)])
    tempo, offset_s = round(rng.uniform(60, 100), 1), round(rng.uniform(1.5, 3.0), 3)
    grid = BeatGrid.steady(tempo, offset_s)
    program = PLUCKED[(number + rng.randrange(3)) % len(PLUCKED)]
    vowel = rng.choice(list(VOWELS))
    low = (
        LOW[program]
        if source == "guitar"
        else rng.randint(45, 52)
        if vowel[0] == "m"
        else rng.randint(57, 62)
    )
    notes = a_line(rng, FIGURES[figures], low, bar, upbeat)
    told = human(notes, grid, rng)
    if source == "guitar":
        sound, how = recorded(told, RATE_HZ, program=program), f"gm{program}"
    else:
        legato = rng.random() < 0.5
        sound, how = voice(told, rng, vowel, legato=legato), f"{vowel} {'legato' if legato else 'la'}"
    return Take(
        f"{source}_{figures}_{number}_{how}", source, meter, feel, tempo, offset_s, tuple(notes), sound
    )
