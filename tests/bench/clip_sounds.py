"""Computed instruments and studio treatment for training clips: timbres that no sample set holds.

Struck and plucked strings with stiffness and two-stage decay, bowed strings, pipes, and sung vowels from
three formants with vibrato and glides; every clip draws its own instrument. All ours; the formant centres
of the vowels are textbook averages (from memory).
"""

import io
import random
from dataclasses import dataclass

import numpy as np
import soundfile
from pedalboard import (  # type: ignore[attr-defined]
    Compressor,
    Distortion,
    HighpassFilter,
    HighShelfFilter,
    LowpassFilter,
    LowShelfFilter,
    PeakFilter,
    Pedalboard,
    Reverb,
)

COMPUTED_RATE = 22050
VOWELS = ((730, 1090, 2440), (270, 2290, 3010), (570, 840, 2410), (300, 870, 2240), (530, 1840, 2480))


@dataclass(frozen=True, slots=True)
class Struck:
    """One drawn instrument; see :func:`tone` for what the numbers do."""

    kind: str
    slope: float
    stiffness: float
    place: float
    decay_s: float
    damping: float
    attack_s: float
    noise: float
    detune: float
    vibrato_cents: float
    vibrato_hz: float
    vowel: tuple[int, int, int]
    odd: float


def draw(kind: str, rng: random.Random) -> Struck:
    """A random instrument of a kind: ``string`` (struck or plucked), ``blown`` or ``sung``."""
    struck = kind == "string"
    return Struck(
        kind=kind,
        slope=rng.uniform(0.5, 1.6) if struck else rng.uniform(0.6, 2.0),
        stiffness=10 ** rng.uniform(-4.6, -3.2) if struck else 0.0,
        place=rng.uniform(0.08, 0.4) if struck else 0.0,
        decay_s=rng.uniform(0.5, 4.0),
        damping=rng.uniform(0.3, 1.5),
        attack_s=rng.uniform(0.001, 0.012) if struck else rng.uniform(0.02, 0.12),
        noise=rng.choice((0.0, 0.02, 0.06)) if struck else rng.uniform(0.0, 0.03),
        detune=rng.uniform(0.0, 2.5) if struck else 0.0,
        vibrato_cents=0.0 if struck else rng.choice((0.0, 10.0, 25.0, 45.0, 70.0)),
        vibrato_hz=rng.uniform(4.5, 6.8),
        vowel=rng.choice(VOWELS),
        odd=rng.choice((0.0, 0.0, 0.6, 0.9)) if kind == "blown" else 0.0,
    )


def tone(sound: Struck, midi: float, length_s: float, loud: float, rng: np.random.Generator) -> np.ndarray:
    """One note, mono float64 at ``COMPUTED_RATE``; ``loud`` 0 to 1 also brightens it."""
    struck = sound.kind == "string"
    tail_s = 0.25 if struck else 0.12
    time = np.arange(int((length_s + tail_s) * COMPUTED_RATE)) / COMPUTED_RATE
    bend = np.zeros(len(time))
    if not struck:
        depth = sound.vibrato_cents * np.clip(time / 0.35, 0.0, 1.0)
        bend = depth * np.sin(2 * np.pi * sound.vibrato_hz * time + rng.uniform(0, 6))
        bend += rng.normal(0, 12) * np.exp(-time / 0.08) * 4 + rng.normal(0, 5)
    f0 = 440.0 * 2.0 ** ((midi - 69) / 12)
    phase = 2 * np.pi * np.cumsum(f0 * 2.0 ** (bend / 1200)) / COMPUTED_RATE
    out = np.zeros(len(time))
    for h in range(1, 26):
        stretch = np.sqrt(1 + sound.stiffness * 2 ** ((midi - 60) / 10) * h * h)
        if f0 * h * stretch > 0.46 * COMPUTED_RATE:
            break
        gain = h ** -(sound.slope * (1.5 - 0.7 * loud)) * (10 ** (rng.normal(0, 2.0) / 20))
        if struck:
            gain *= abs(np.sin(np.pi * h * sound.place)) + 0.05
        if sound.kind == "sung":
            gain *= (
                sum(
                    1 / (1 + ((f0 * h - c) / w) ** 2)
                    for c, w in zip(sound.vowel, (90, 120, 180), strict=True)
                )
                + 0.02
            )
        if h % 2 == 0:
            gain *= 1 - sound.odd
        part = np.sin(phase * h * stretch + rng.uniform(0, 6.3))
        if sound.detune:
            part += np.sin(phase * h * stretch * 2 ** (sound.detune / 1200) + rng.uniform(0, 6.3))
        if struck:
            slow = sound.decay_s * 2 ** ((60 - midi) / 18) / (1 + sound.damping * (h - 1) * 0.35)
            part *= 0.75 * np.exp(-time / (0.25 * slow)) + 0.25 * np.exp(-time / slow)
        out += gain * part
    rise = np.clip(time / sound.attack_s, 0, 1)
    fall = np.where(time > length_s, np.exp(-(time - length_s) / (0.06 if struck else 0.03)), 1.0)
    hiss = rng.normal(0, 1, len(time)) * sound.noise * (np.exp(-time / 0.02) * 4 if struck else 1.0)
    out = (out / (np.sqrt(np.mean(out**2)) + 1e-9) + hiss) * rise * fall
    return out * (0.25 + 0.75 * loud)


def treat(sound: np.ndarray, rate: int, rng: random.Random) -> np.ndarray:
    """Rooms, equalisers, noise, cheap loudspeakers and mp3, as recordings out there have them."""
    chain = []
    if rng.random() < 0.75:
        chain += [
            LowShelfFilter(rng.uniform(120, 350), rng.uniform(-8, 5)),
            HighShelfFilter(rng.uniform(1800, 5000), rng.uniform(-10, 6)),
            PeakFilter(rng.uniform(200, 3000), rng.uniform(-7, 7), rng.uniform(0.5, 1.5)),
        ]
    if rng.random() < 0.15:
        chain.append(HighpassFilter(rng.uniform(60, 160)))
    if rng.random() < 0.2:
        chain.append(LowpassFilter(rng.uniform(3500, 9000)))
    if rng.random() < 0.3:
        chain.append(Compressor(rng.uniform(-30, -15), rng.uniform(2, 5), 5, 120))
    if rng.random() < 0.05:
        chain.append(Distortion(rng.uniform(2, 8)))
    if rng.random() < 0.7:
        room, wet = rng.uniform(0.1, 0.85), rng.uniform(0.05, 0.38)
        chain.append(Reverb(room_size=room, damping=rng.uniform(0.1, 0.9), wet_level=wet, dry_level=1 - wet))
    out = Pedalboard(chain)(sound.astype(np.float32), rate) if chain else sound.astype(np.float32)
    out = out / (np.abs(out).max() + 1e-9) * 0.7
    if rng.random() < 0.5:
        out = out + noise_of(len(out), rng) * np.sqrt(np.mean(out**2)) * 10 ** (-rng.uniform(22, 55) / 20)
    return coded(np.clip(out, -1, 1), rate, rng) if rng.random() < 0.6 else out.astype(np.float32)


def noise_of(length: int, rng: random.Random) -> np.ndarray:
    source = np.random.default_rng(rng.randrange(2**32))
    spectrum = np.fft.rfft(source.normal(size=length))
    spectrum /= np.maximum(np.arange(len(spectrum)), 20) ** rng.choice((0.0, 0.5, 0.8))
    noise = np.fft.irfft(spectrum, length)
    return noise / np.sqrt(np.mean(noise**2))


def coded(sound: np.ndarray, rate: int, rng: random.Random) -> np.ndarray:
    """There and back; the encoder's delay is found by correlation and taken off."""
    file = io.BytesIO()
    soundfile.write(
        file, sound, rate, format="MP3", subtype="MPEG_LAYER_III",
        bitrate_mode="CONSTANT", compression_level=rng.choice((0.45, 0.6, 0.75, 0.85)),
    )  # fmt: skip
    file.seek(0)
    back, _ = soundfile.read(file, dtype="float32")
    size = min(len(back), len(sound), 6 * rate)
    spectrum = np.fft.rfft(back[:size], 2 * size) * np.conj(np.fft.rfft(sound[:size], 2 * size))
    lag = int(np.argmax(np.fft.irfft(spectrum)[:4000]))
    return back[lag : lag + len(sound)]
