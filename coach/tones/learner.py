"""The simulated player: sung and plucked takes with a human's errors, for the demonstration and for tests."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

from coach.music.tuning_system import midi_to_hz
from coach.tones.instruments import Audio, edges, harmonics, partial_count, pluck, vowel_gain
from coach.tones.prompt import PromptNote

_Real = NDArray[np.float64]
_TAKE_PEAK = 0.35
"""Of a whole take: loud, and far from clipping."""
_TAIL_S = 0.3
"""Silence after the last note."""
_VOICE_LAG_S = 0.02
"""A sung note begins so much early, so that its vowel is there on time."""
_RING_S = 0.12
"""How long a plucked note goes on sounding into the next one."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How well the simulated player does.

    Parameters
    ----------
    timing_s
        Standard deviation of each onset. 20 ms is a steady amateur (common practice, no source).
    cents
        Standard deviation of each sung note's mistuning. Untrained singers who match pitch err by some
        20 cents (Pfordresher and Brown 2007 count as poor what exceeds a semitone).
    drift_cents
        Slow wandering within a sung note.
    vibrato_cents, vibrato_hz
        Half the extent, and the rate, of the vibrato.
    slide_cents, slide_s
        How far off a sung note begins, and how long the slide into it takes.
    detune_cents
        Of the plucked guitar as a whole.
    noise_db
        Breath or room noise, in dB under full scale.
    """

    timing_s: float = 0.015
    cents: float = 9.0
    drift_cents: float = 4.0
    vibrato_cents: float = 15.0
    vibrato_hz: float = 5.4
    slide_cents: float = 70.0
    slide_s: float = 0.07
    detune_cents: float = 2.0
    noise_db: float = -62.0


EXACT = Manner(0.0, 0.0, 0.0, 0.0, 5.4, 0.0, 0.07, 0.0, -90.0)
"""A player without any error."""


def sung(
    notes: Sequence[PromptNote],
    rate_hz: int,
    rng: Random,
    *,
    manner: Manner | None = None,
) -> Audio:
    """A take sung on an open vowel.

    Parameters
    ----------
    notes
        One at a time, in order of onset; only pitch and times count.
    rate_hz
        Sample rate.
    rng
        The source of all human error.
    manner
        How well it is sung; the defaults of `Manner` where ``None``.

    Returns
    -------
    Audio
        Mono, shape (n,), peak 0.35.
    """
    how = manner or Manner()
    out = _room(notes, rate_hz, how, rng)
    for index, note in enumerate(notes):
        start_s = max(0.0, note.start_s - _VOICE_LAG_S + rng.gauss(0.0, how.timing_s))
        last_s = notes[index + 1].start_s if index + 1 < len(notes) else note.end_s
        length_s = max(0.12, min(note.end_s, last_s) - note.start_s - 0.02)
        hz = midi_to_hz(note.midi + rng.gauss(0.0, how.cents) / 100.0)
        _lay(out, _vowel(hz, length_s, rate_hz, how, rng), start_s, rate_hz)
    return _levelled(out)


def plucked(
    notes: Sequence[PromptNote],
    rate_hz: int,
    rng: Random,
    *,
    manner: Manner | None = None,
) -> Audio:
    """A take plucked on a guitar; as `sung`, but notes may overlap: each rings a little into the next."""
    how = manner or Manner()
    out = _room(notes, rate_hz, how, rng)
    tuning_cents = rng.gauss(0.0, how.detune_cents)
    for note in notes:
        start_s = max(0.0, note.start_s + rng.gauss(0.0, how.timing_s))
        hz = midi_to_hz(note.midi + tuning_cents / 100.0)
        sound = pluck(
            hz, note.end_s - note.start_s + _RING_S, rate_hz, place=rng.uniform(0.15, 0.25), darkness=1.3
        )
        _lay(out, sound * np.float32(rng.uniform(0.75, 1.0)), start_s, rate_hz)
    return _levelled(out)


def clapped(
    times_s: Sequence[float],
    rate_hz: int,
    rng: Random,
    *,
    manner: Manner | None = None,
) -> Audio:
    """Claps at given moments in seconds: bursts of noise that are over after 60 ms; as `sung` otherwise."""
    how = manner or Manner()
    notes = [PromptNote(60, at_s, at_s + 0.1) for at_s in times_s]
    out = _room(notes, rate_hz, how, rng)
    noise = np.random.default_rng(rng.getrandbits(64))
    count = round(0.06 * rate_hz)
    fall = np.exp(-np.arange(count) / (0.009 * rate_hz)) * edges(count, rate_hz, 0.001, 0.01)
    for at_s in times_s:
        burst = np.asarray(fall * noise.standard_normal(count), np.float32)
        _lay(out, burst, max(0.0, at_s + rng.gauss(0.0, how.timing_s)), rate_hz)
    return _levelled(out)


def _vowel(hz: float, length_s: float, rate_hz: int, how: Manner, rng: Random) -> Audio:
    time = np.arange(round(length_s * rate_hz)) / rate_hz
    grows = np.clip((time - 0.15) / 0.2, 0.0, 1.0)
    turn = 2.0 * math.pi * how.vibrato_hz * rng.uniform(0.93, 1.07) * time + rng.uniform(0.0, 6.28)
    cents = how.vibrato_cents * grows * np.sin(turn) + _wander(time, how.drift_cents, rng)
    cents += how.slide_cents * rng.choice((-1.0, -1.0, 0.5)) * np.exp(-time / (how.slide_s / 2.0))
    phase = 2.0 * math.pi * np.cumsum(hz * 2.0 ** (cents / 1200.0)) / rate_hz
    gains = [vowel_gain(n * hz) for n in range(1, partial_count(hz, rate_hz) + 1)]
    wave = harmonics(np.exp(1j * phase), gains)
    breath = np.random.default_rng(rng.getrandbits(64)).standard_normal(len(time))
    wave += 10.0 ** (-38.0 / 20.0) * float(np.abs(wave).max()) * breath
    return np.asarray(wave / float(np.abs(wave).max()) * edges(len(time), rate_hz, 0.045, 0.06), np.float32)


def _wander(time: _Real, cents: float, rng: Random) -> _Real:
    """A slow random walk between points 0.12 s apart."""
    points = np.arange(0.0, float(time[-1]) + 0.25, 0.12)
    values = [rng.gauss(0.0, cents) for _ in points]
    return np.interp(time, points, values)


def _room(notes: Sequence[PromptNote], rate_hz: int, how: Manner, rng: Random) -> _Real:
    end_s = max((note.end_s for note in notes), default=0.0) + _TAIL_S
    noise = np.random.default_rng(rng.getrandbits(64)).standard_normal(round(end_s * rate_hz))
    return np.asarray(noise * 10.0 ** (how.noise_db / 20.0) / _TAKE_PEAK)


def _lay(out: _Real, samples: Audio, start_s: float, rate_hz: int) -> None:
    first = round(start_s * rate_hz)
    stop = min(len(out), first + len(samples))
    if stop > first:
        out[first:stop] += samples[: stop - first]


def _levelled(out: _Real) -> Audio:
    peak = max(1.0, float(np.abs(out).max(initial=0.0)))
    return np.asarray(out * (_TAKE_PEAK / peak), np.float32)
