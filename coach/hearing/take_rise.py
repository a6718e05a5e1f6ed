"""Which pitches rise at given moments: the spectrum after each less the one before, split into pitches."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Self

import numpy as np
from numpy.typing import NDArray

from coach.hearing.evidence.spectrum import GRID_BINS, Floats, log_frequency
from coach.hearing.frames import RATE_HZ
from coach.hearing.tuning_offset import tuning_offset
from coach.music.tuning_system import midi_to_hz

LOWEST_MIDI, HIGHEST_MIDI = 36, 91
"""C2 to G6: a guitar tuned down to D and a capo leave nothing out."""
WINDOWS_S = (0.096, 0.16, 0.256, 0.36)
"""Lengths of the look after an onset: the longest that ends before the next one. Low notes need length."""
SIZE = 8_192
"""Every window is filled up with zeros to .51 s, so that all share one frequency axis."""
_AFTER_S = 0.012
"""The attack itself is noise: the look begins a little later."""
_BEFORE_S = 0.004
"""The look at what sounded before ends so early: the onset is not known better."""
_SHORTEST_BEFORE_S = 0.06
"""And is at least so long, even where the onset before lies nearer."""
PARTIALS, DECAY, STIFFNESS = 16, 0.75, 0.0001
"""Of the templates; decay after Mauch and Dixon 2010 (.5 to .9), stiffness of strings from memory."""
COMPRESSION = 0.7
"""As in `coach.hearing.evidence.activations`: loud partials shall not rule."""
ROUNDS = 60
"""Of the multiplicative updates."""


@dataclass(frozen=True, slots=True, eq=False)
class Rises:
    """Strengths of the pitches that rise at each moment, and of all that sound after it.

    Both of shape (moments, pitches), linear. ``levels`` is what rises on the grid of
    `coach.hearing.evidence.spectrum`, (moments, GRID_BINS), linear.
    """

    lowest_midi: int
    strengths: Floats
    sounding: Floats
    levels: Floats

    @classmethod
    def of(cls, samples: NDArray[np.float32], times_s: Sequence[float]) -> Self:
        """Look at each moment of 16 kHz samples, shape (n,); times rise."""
        cents = tuning_offset(samples, RATE_HZ)
        bounds = [*times_s, len(samples) / RATE_HZ + WINDOWS_S[-1]]
        rows = np.zeros((2, len(times_s), HIGHEST_MIDI - LOWEST_MIDI + 1), np.float32)
        levels = np.zeros((len(times_s), GRID_BINS), np.float32)
        for index, time_s in enumerate(times_s):
            gap_s = bounds[index + 1] - time_s - _AFTER_S
            length_s = max((w for w in WINDOWS_S if w <= gap_s), default=WINDOWS_S[0])
            last_s = times_s[index - 1] if index else -1.0
            rise, after = _around(samples, time_s, last_s, length_s, cents)
            levels[index] = rise
            rows[:, index] = _split(np.stack([rise, after]), length_s)
        return cls(LOWEST_MIDI, rows[0], rows[1], levels)


def _around(
    samples: NDArray[np.float32], time_s: float, last_s: float, length_s: float, cents: float
) -> tuple[Floats, Floats]:
    """How much louder each bin of the grid is after a moment than before it, and how loud after it."""
    after = _spectrum(samples, time_s + _AFTER_S, length_s)
    stop_s = time_s - _BEFORE_S
    start_s = max(stop_s - length_s, min(last_s + _AFTER_S, stop_s - _SHORTEST_BEFORE_S))
    before = _spectrum(samples, start_s, stop_s - start_s)
    hz_per_bin = RATE_HZ / SIZE
    grids = log_frequency(np.stack([after, before]), hz_per_bin, cents)
    return np.asarray(np.maximum(grids[0] - grids[1], 0.0), np.float32), grids[0]


def _spectrum(samples: NDArray[np.float32], start_s: float, length_s: float) -> Floats:
    """Magnitudes of a stretch, a sine of amplitude 1 gives 1; outside the take is silence."""
    first, count = round(start_s * RATE_HZ), round(length_s * RATE_HZ)
    part = np.zeros(count, np.float32)
    low, high = max(0, first), min(len(samples), first + count)
    if high > low:
        part[low - first : high - first] = samples[low:high]
    window = np.hanning(count + 2)[1:-1].astype(np.float32)
    return np.asarray(np.abs(np.fft.rfft(part * window, SIZE)) * (2.0 / window.sum()), np.float32)


def _split(levels: Floats, length_s: float) -> Floats:
    """Pitches of spectra (n, bins of the grid), (n, pitches).

    Non-negative least squares by multiplicative updates (Lee and Seung 2001) on fixed templates.
    """
    shapes = templates(length_s)
    wanted = levels**COMPRESSION @ shapes.T
    gram = shapes @ shapes.T
    found = wanted / gram.sum(axis=1)
    for _ in range(ROUNDS):
        found = found * wanted / (found @ gram + 1e-9)
    return np.asarray(found ** (1 / COMPRESSION), np.float32)


@lru_cache(maxsize=len(WINDOWS_S))
def templates(length_s: float) -> Floats:
    """Spectra of plucked strings through a Hann window of this length, (pitches, grid bins), norm 1."""
    count = round(length_s * RATE_HZ)
    time = np.arange(count) / RATE_HZ
    window = np.hanning(count + 2)[1:-1]
    rows = []
    for midi in range(LOWEST_MIDI, HIGHEST_MIDI + 1):
        f0 = midi_to_hz(midi)
        spectrum = np.zeros(SIZE // 2 + 1)
        for h in range(1, PARTIALS + 1):
            hz = f0 * h * np.sqrt(1 + STIFFNESS * h * h)
            if hz > 0.45 * RATE_HZ:
                break
            one = np.abs(np.fft.rfft(window * np.sin(2 * np.pi * hz * time), SIZE)) * (2 / window.sum())
            spectrum = np.maximum(spectrum, one * DECAY ** (h - 1))
        rows.append(spectrum)
    shapes = log_frequency(np.asarray(rows, np.float32), RATE_HZ / SIZE) ** COMPRESSION
    return np.asarray(shapes / np.linalg.norm(shapes, axis=1, keepdims=True), dtype=np.float32)
