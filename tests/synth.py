"""Computed sounds with known truth: plucks, voice-like tones, noise, claps. Nothing recorded."""

import math

import numpy as np
from numpy.typing import NDArray

Audio = NDArray[np.float32]
RATE_HZ = 48_000


def partial_hz(f0_hz: float, number: int, inharmonicity: float) -> float:
    """Frequency of a stiff string's partial: n·f0·sqrt(1 + B·n²) (Fletcher 1964)."""
    return number * f0_hz * math.sqrt(1.0 + inharmonicity * number * number)


def pluck(
    f0_hz: float,
    length_s: float,
    *,
    rate_hz: int = RATE_HZ,
    inharmonicity: float = 1e-4,
    decay_s: float = 1.2,
    place: float = 0.13,
    level: float = 0.3,
) -> Audio:
    """A plucked stiff string: partials by Fletcher's formula, 1/n² under the comb of the plucking place.

    ``f0_hz`` is the formula's f0: the first partial sounds sqrt(1 + B) higher. ``decay_s`` is the time to
    fall to 1/e of the first partial; higher ones die sooner.
    """
    time = np.arange(round(length_s * rate_hz)) / rate_hz
    out = np.zeros_like(time)
    number = 1
    while number <= 40 and partial_hz(f0_hz, number, inharmonicity) < min(0.45 * rate_hz, 7_500.0):
        strength = abs(math.sin(math.pi * number * place)) / number**1.4
        fall = np.exp(-time * (1.0 + 0.15 * number) / decay_s)
        phase = 0.7 * number
        out += strength * fall * np.sin(2 * math.pi * partial_hz(f0_hz, number, inharmonicity) * time + phase)
        number += 1
    out *= np.minimum(1.0, time / 0.002)
    tail = min(len(out), round(0.01 * rate_hz))
    out[-tail:] *= np.linspace(1.0, 0.0, tail)
    return np.asarray(level * out / max(1e-9, float(np.abs(out).max())), np.float32)


def voice(
    f0_hz: float,
    length_s: float,
    *,
    rate_hz: int = RATE_HZ,
    vibrato_cents: float = 30.0,
    vibrato_hz: float = 5.5,
    scoop_cents: float = 0.0,
    formants_hz: tuple[float, ...] = (700.0, 1100.0, 2600.0, 3400.0),
    level: float = 0.3,
    rng: np.random.Generator | None = None,
) -> Audio:
    """A voice-like tone: harmonics falling by 12 dB an octave through formant peaks, vibrato, soft edges.

    ``scoop_cents`` is how far below the note it starts; the slide takes 120 ms. With ``rng`` breath noise and
    small random wavering are added.
    """
    time = np.arange(round(length_s * rate_hz)) / rate_hz
    cents = vibrato_cents * np.sin(2 * math.pi * vibrato_hz * time) * np.clip((time - 0.15) / 0.2, 0.0, 1.0)
    cents -= scoop_cents * np.clip(1.0 - time / 0.12, 0.0, 1.0)
    if rng is not None:
        drift = np.interp(
            time,
            np.arange(0, length_s + 0.1, 0.08),
            rng.normal(0, 6, int(length_s / 0.08) + 3)[: len(np.arange(0, length_s + 0.1, 0.08))],
        )
        cents = cents + drift
    hz = f0_hz * 2.0 ** (cents / 1200.0)
    phase = 2 * math.pi * np.cumsum(hz) / rate_hz
    out = np.zeros_like(time)
    for number in range(1, int(6_000.0 / f0_hz) + 1):
        at_hz = number * f0_hz
        gain = sum(1.0 / (1.0 + ((at_hz - peak) / 110.0) ** 2) for peak in formants_hz) + 0.03
        out += gain / number * np.sin(number * phase)
    if rng is not None:
        out += 0.02 * float(np.abs(out).max()) * rng.standard_normal(len(out))
    out *= np.minimum(1.0, time / 0.04) * np.clip((length_s - time) / 0.05, 0.0, 1.0)
    return np.asarray(level * out / float(np.abs(out).max()), np.float32)


def clap(*, rate_hz: int = RATE_HZ, level: float = 0.5, seed: int = 1) -> Audio:
    """A hand clap: a burst of noise that is over after 60 ms."""
    time = np.arange(round(0.06 * rate_hz)) / rate_hz
    noise = np.random.default_rng(seed).standard_normal(len(time))
    return np.asarray(level * np.exp(-time / 0.008) * noise / 3.0, np.float32)


def tap(*, rate_hz: int = RATE_HZ, level: float = 0.4) -> Audio:
    """A fingertip on the guitar's body: two low, quickly damped resonances (105 and 210 Hz)."""
    time = np.arange(round(0.12 * rate_hz)) / rate_hz
    body = np.exp(-time / 0.02) * np.sin(2 * math.pi * 105 * time)
    body += 0.6 * np.exp(-time / 0.012) * np.sin(2 * math.pi * 210 * time)
    return np.asarray(level * body, np.float32)


def pink_noise(length_s: float, *, rate_hz: int = RATE_HZ, rms: float = 0.01, seed: int = 1) -> Audio:
    """Noise whose power falls by 3 dB an octave."""
    count = round(length_s * rate_hz)
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(count))
    spectrum /= np.sqrt(np.maximum(1.0, np.arange(len(spectrum))))
    out = np.fft.irfft(spectrum, count)
    return np.asarray(rms * out / np.sqrt(np.mean(out**2)), np.float32)


def place(parts: list[tuple[float, Audio]], length_s: float, *, rate_hz: int = RATE_HZ) -> Audio:
    """Lay sounds at their start times (seconds) into silence of ``length_s``; they add where they overlap."""
    out = np.zeros(round(length_s * rate_hz), np.float32)
    for start_s, sound in parts:
        first = round(start_s * rate_hz)
        end = min(len(out), first + len(sound))
        out[first:end] += sound[: end - first]
    return out
