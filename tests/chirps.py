"""The round trip by matched filter: a second way to find a chirp, against which the app's own is held."""

import numpy as np
from numpy.typing import NDArray

from coach.hearing.roundtrip import chirp

LEAST_MATCH = 0.25
"""Correlation coefficient; noise alone stays under 0.1 for a chirp of this length and width."""


def chirp_delay_s(captured: NDArray[np.float32], rate_hz: int) -> float | None:
    """Where the normalised cross-correlation with the chirp is highest; ``None`` where it was not heard."""
    probe = chirp(rate_hz).astype(np.float64)
    sound = captured.astype(np.float64)
    summed = np.concatenate([[0.0], np.cumsum(sound**2)])
    under = np.maximum(summed[len(probe) :] - summed[: -len(probe)], 1e-12)
    size = 1 << (len(sound) + len(probe)).bit_length()
    spectrum = np.fft.rfft(sound, size) * np.conj(np.fft.rfft(probe, size))
    correlation = np.fft.irfft(spectrum, size)[: len(under)]
    match = np.abs(correlation) / np.sqrt(under * float((probe**2).sum()))
    match[under < 1e-4 * float(under.max())] = 0.0
    best = int(np.argmax(match))
    return best / rate_hz if match[best] >= LEAST_MATCH else None
