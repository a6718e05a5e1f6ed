"""Rooms, microphones and carriers that are rougher than a studio's, for training clips.

Impulse responses are computed: a few early reflections and noise that dies away, the high sooner than the low
(after Moorer 1979). Tape and record faults: wow, flutter, hum, crackle, narrow bands.
"""

import random

import numpy as np
from pedalboard import (  # type: ignore[attr-defined]
    Compressor,
    HighpassFilter,
    HighShelfFilter,
    LowpassFilter,
    LowShelfFilter,
    PeakFilter,
    Pedalboard,
)
from scipy.signal import fftconvolve, lfilter

from tests.bench.clip_sounds import coded, noise_of


def impulse_response(rate: int, rng: random.Random) -> np.ndarray:
    """Of a room that dies away by 60 dB in .25 to 2.8 s."""
    source = np.random.default_rng(rng.randrange(2**32))
    last_s = 0.25 * 11.0 ** rng.random()
    time = np.arange(int(min(last_s, 2.2) * rate)) / rate
    tail = source.normal(size=len(time))
    keep = float(np.exp(-2 * np.pi * rng.uniform(1200, 5000) / rate))
    low = lfilter([1 - keep], [1, -keep], tail)
    high_last_s = last_s * rng.uniform(0.25, 0.7)
    tail = low * 10 ** (-3 * time / last_s) * 2 + (tail - low) * 10 ** (-3 * time / high_last_s)
    tail[: int(rng.uniform(0.004, 0.04) * rate)] = 0
    tail /= np.sqrt(np.sum(tail**2)) + 1e-9
    out = tail * 10 ** (rng.uniform(-14, 5) / 20)
    for _ in range(rng.randint(2, 9)):
        out[int(rng.uniform(0.001, 0.045) * rate)] += rng.choice((-1, 1)) * rng.uniform(0.05, 0.45)
    out[0] += 1.0
    return np.asarray(out)


def wavering(sound: np.ndarray, rate: int, rng: random.Random) -> np.ndarray:
    """Wow and flutter of a carrier, at most about ten cents."""
    time = np.arange(len(sound)) / rate
    shift = np.zeros(len(sound))
    for cents, hz in ((rng.uniform(0, 9), rng.uniform(0.3, 1.4)), (rng.uniform(0, 4), rng.uniform(5, 11))):
        depth = cents / 1200 * np.log(2) / (2 * np.pi * hz)
        shift += depth * np.sin(2 * np.pi * hz * time + rng.uniform(0, 6))
    return np.interp(np.clip(time + shift, 0, time[-1]) * rate, np.arange(len(sound)), sound)


def disturbance(length: int, rate: int, rng: random.Random) -> np.ndarray:
    """Hiss, hum or crackle of unit power."""
    kind = rng.random()
    if kind < 0.6:
        return noise_of(length, rng)
    time = np.arange(length) / rate
    if kind < 0.85:
        mains = rng.choice((50.0, 60.0))
        hum = sum(rng.uniform(0.1, 1) / k * np.sin(2 * np.pi * mains * k * time + k) for k in range(1, 6))
        out = np.asarray(hum) + 0.3 * noise_of(length, rng)
    else:
        source = np.random.default_rng(rng.randrange(2**32))
        out = np.zeros(length)
        hits = source.integers(0, length, int(length / rate * rng.uniform(4, 40)))
        out[hits] = source.normal(size=len(hits))
        out = lfilter([1], [1, -0.6], out)
        out = out / (np.sqrt(np.mean(out**2)) + 1e-9) + 0.5 * noise_of(length, rng)
    return np.asarray(out / np.sqrt(np.mean(out**2)))


def weather(sound: np.ndarray, rate: int, rng: random.Random) -> np.ndarray:
    """What happens to a sound on its way to the listener's file; float32, -1 to 1."""
    out = sound.astype(np.float64)
    if rng.random() < 0.75:
        out = fftconvolve(out, impulse_response(rate, rng))[: len(out)]
    chain = []
    if rng.random() < 0.7:
        chain += [
            LowShelfFilter(rng.uniform(100, 400), rng.uniform(-12, 6)),
            HighShelfFilter(rng.uniform(1500, 6000), rng.uniform(-14, 7)),
            *(PeakFilter(rng.uniform(120, 5000), rng.uniform(-9, 9), rng.uniform(0.5, 3)) for _ in range(2)),
        ]
    carrier = rng.random()
    if carrier < 0.08:
        chain += [HighpassFilter(rng.uniform(90, 220)), LowpassFilter(rng.uniform(2800, 5500))]
    elif carrier < 0.2:
        chain.append(HighpassFilter(rng.uniform(50, 180)))
    elif carrier < 0.32:
        chain.append(LowpassFilter(rng.uniform(2500, 8000)))
    if rng.random() < 0.35:
        chain.append(
            Compressor(rng.uniform(-36, -14), rng.uniform(2, 8), rng.uniform(1, 20), rng.uniform(60, 400))
        )
    if chain:
        out = Pedalboard(chain)(out.astype(np.float32), rate).astype(np.float64)
    if rng.random() < 0.15:
        out = wavering(out, rate, rng)
    out /= np.abs(out).max() + 1e-9
    if rng.random() < 0.12:
        out = np.tanh(rng.uniform(1, 4) * out)
        out /= np.abs(out).max() + 1e-9
    if rng.random() < 0.6:
        level = np.sqrt(np.mean(out**2)) * 10 ** (-rng.uniform(14, 55) / 20)
        out = out + level * disturbance(len(out), rate, rng)
    out = np.clip(out * rng.uniform(0.2, 0.9), -1, 1)
    return coded(out, rate, rng) if rng.random() < 0.6 else out.astype(np.float32)
