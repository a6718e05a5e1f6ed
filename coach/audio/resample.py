"""Changes of sample rate by Fourier transform."""

from math import gcd

import numpy as np

from coach.sessions.ports import Samples

_BLOCK = 16_384
"""Least source samples in a block; a quarter at each end is overlap."""


def fourier_resized(sound: Samples, count: int) -> Samples:
    """The sound as ``count`` samples, shape (count, channels); its ends are taken to meet.

    What lies above the lower of both Nyquist frequencies is gone.
    """
    length = sound.shape[0]
    spectrum = np.fft.rfft(sound, axis=0)
    return np.asarray(np.fft.irfft(spectrum, count, axis=0) * (count / length), np.float32)


def resampled(sound: Samples, from_hz: int, to_hz: int) -> Samples:
    """The same sound at another rate, mono (n,) or stereo (n, 2), length round(n · to / from).

    Blocks whose lengths stand in the exact ratio of the rates are resized and their middles put together
    (overlap-save), so pitch and length are exact and memory stays small.
    """
    if from_hz == to_hz or sound.shape[0] == 0:
        return sound
    flat = sound[:, None] if sound.ndim == 1 else sound
    common = gcd(from_hz, to_hz)
    step_in, step_out = from_hz // common, to_hz // common
    quarter = -(-_BLOCK // (4 * step_in))
    margin_in, margin_out = quarter * step_in, quarter * step_out
    length = round(flat.shape[0] * to_hz / from_hz)
    blocks = -(-length // (2 * margin_out))
    padded = np.pad(flat, ((margin_in, (2 * blocks + 1) * margin_in - flat.shape[0] + margin_in), (0, 0)))
    out = np.empty((blocks * 2 * margin_out, flat.shape[1]), np.float32)
    for number in range(blocks):
        block = padded[2 * number * margin_in : (2 * number + 4) * margin_in]
        middle = fourier_resized(block, 4 * margin_out)[margin_out : 3 * margin_out]
        out[2 * number * margin_out : 2 * (number + 1) * margin_out] = middle
    return out[:length, 0] if sound.ndim == 1 else out[:length]
