"""Log-frequency spectra of a recording in three window lengths, on a grid tuned to the recording."""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from coach.music.tuning_system import A4_HZ, A4_MIDI

Floats = npt.NDArray[np.float32]

HOP_S = 0.025
"""From frame to frame."""
BINS_PER_SEMITONE = 3
GRID_LOW_MIDI, GRID_HIGH_MIDI = 26, 120
"""The grid goes from D1 to C9 (8.4 kHz)."""
GRID_BINS = (GRID_HIGH_MIDI - GRID_LOW_MIDI) * BINS_PER_SEMITONE + 1
WINDOWS_S = (0.3715, 0.1858, 0.0929)
"""Long enough to part low semitones by their overtones, short enough for quick notes, and one between."""
WORK_RATE_HZ = 22050.0
"""Recordings are thinned to a rate at or a little above this one: the highest bin lies at 8.4 kHz."""
FLOOR_DB = -120.0
"""What silence is called."""
_TAPS_PER_FACTOR = 32
"""Length of the low-pass, in samples of the new rate."""
_BLOCK_SAMPLES = 2**20
"""So many samples are thinned at a time."""


def thinned(samples: Floats, rate_hz: float) -> tuple[Floats, float]:
    """Samples and rate after low-pass and thinning by a whole factor; unchanged below twice 22.05 kHz.

    The filter is a Hann-windowed sinc with its corner at .45 of the new rate (Oppenheim & Schafer,
    Discrete-Time Signal Processing, window method).
    """
    factor = int(rate_hz // WORK_RATE_HZ)
    if factor <= 1:
        return samples, rate_hz
    half = _TAPS_PER_FACTOR * factor // 2
    taps = np.sinc(0.9 * np.arange(-half, half + 1) / factor) * np.hanning(2 * half + 3)[1:-1]
    taps = (taps / taps.sum()).astype(np.float32)
    out = np.empty(-(-len(samples) // factor), np.float32)
    step = _BLOCK_SAMPLES - _BLOCK_SAMPLES % factor
    for first in range(0, len(samples), step):  # by blocks: a long recording is not held twice
        low, high = first - half, min(first + step, len(samples)) + half
        block = np.pad(samples[max(0, low) : high], (max(0, -low), max(0, high - len(samples))))
        done = np.convolve(block, taps, mode="valid")[::factor]
        out[first // factor : first // factor + len(done)] = done
    return out, rate_hz / factor


def window_samples(length_s: float, rate_hz: float) -> int:
    """The least size of the form 2^a·3^b·5^c (b, c at most 2) that lasts ``length_s``: quick transforms."""
    least = length_s * rate_hz
    sizes = (
        3**b * 5**c * 2 ** max(0, int(np.ceil(np.log2(least / (3**b * 5**c) - 1e-9))))
        for b in range(3)
        for c in range(3)
    )
    return int(min(size for size in sizes if size >= least - 1e-6))


def magnitudes(samples: Floats, rate_hz: float, length_s: float, first: int, count: int) -> Floats:
    """Magnitude spectra (count, bins) of frames ``first`` on, centred on multiples of ``HOP_S``.

    A sine of amplitude 1 on a bin gives 1 (Hann window).
    """
    size = window_samples(length_s, rate_hz)
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    centres = np.round((first + np.arange(count)) * HOP_S * rate_hz).astype(int)
    low, high = centres[0] - size // 2, centres[-1] + size
    piece = samples[max(0, low) : max(0, high)]
    piece = np.pad(piece, (max(0, -low), max(0, high - max(0, low) - len(piece) - max(0, -low) + size)))
    frames = np.stack([piece[c - centres[0] : c - centres[0] + size] for c in centres])
    spectra = np.abs(np.fft.rfft(frames * window, axis=1)) * (2 / window.sum())
    return np.asarray(spectra, dtype=np.float32)


def _grid_hz(cents: float = 0.0) -> npt.NDArray[np.float64]:
    """Frequency of each bin of the grid in a recording so many cents off."""
    midi = GRID_LOW_MIDI + np.arange(GRID_BINS) / BINS_PER_SEMITONE
    return np.asarray(A4_HZ * 2.0 ** ((midi + cents / 100 - A4_MIDI) / 12))


@lru_cache(maxsize=32)
def _grid(
    hz_per_bin: float, bins: int, cents: float
) -> tuple[npt.NDArray[np.intp], Floats, tuple[tuple[int, int, int], ...]]:
    place = _grid_hz(cents) / hz_per_bin
    index = np.minimum(np.floor(place).astype(np.intp), bins - 2)
    share = np.where(place < bins - 1, place - index, 0.0).astype(np.float32)
    half = place * (2 ** (1 / (24 * BINS_PER_SEMITONE)) - 1)
    wide = tuple(
        (int(j), round(place[j] - half[j]), round(place[j] + half[j]) + 1)
        for j in np.nonzero((half > 1) & (place < bins - 1))[0]
    )
    return index, share, wide


def log_frequency(spectra: Floats, hz_per_bin: float, cents: float = 0.0) -> Floats:
    """Levels on the tuned grid, (frames, GRID_BINS), linear.

    Bins narrower than a transform's bin are interpolated; wider ones take the largest value they hold.
    Grid bins above half the rate hold 0.
    """
    bins = spectra.shape[1]
    index, share, wide = _grid(hz_per_bin, bins, cents)
    out = spectra[:, index] * (1 - share) + spectra[:, index + 1] * share
    for j, low, high in wide:
        out[:, j] = spectra[:, low : min(high, bins)].max(axis=1)
    out[:, _grid_hz() / hz_per_bin >= bins - 1] = 0.0
    return np.asarray(out, dtype=np.float32)


def decibels(levels: Floats) -> Floats:
    """Levels in dB, at least ``FLOOR_DB``."""
    return np.asarray(20 * np.log10(np.maximum(levels, 10 ** (FLOOR_DB / 20))), dtype=np.float32)
