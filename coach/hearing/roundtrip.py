"""The round trip: how long a sound takes through loudspeaker, air and microphone.

A rising chirp is played and found again by cross-correlation, normalised by the energy under it, so that a
loud room does not pretend to be the chirp.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_LOW_HZ, _HIGH_HZ = 500.0, 4_000.0
"""What the loudspeaker of any tablet can play."""
_LENGTH_S = 0.12
_LEVEL = 0.25
_LEAST_MATCH = 0.25
"""Correlation coefficient; noise alone stays under 0.1 for a chirp of this length and width."""
MOST_SPREAD_S = 0.005
"""If measures lie further apart than this, measure again."""
_USUAL_WIRED_S = 0.12
"""A longer round trip is typical of wireless headphones. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class RoundTrip:
    """A measured delay in seconds and how well the chirp matched, 0 to 1."""

    delay_s: float
    match: float

    @property
    def wireless(self) -> bool:
        """Whether it is so long that the headphones are likely wireless, and a cable advised."""
        return self.delay_s > _USUAL_WIRED_S


def chirp(rate_hz: int) -> NDArray[np.float32]:
    """The prompt: 0.12 s rising from 500 Hz to 4 kHz with soft edges, mono, peak 0.25."""
    time = np.arange(round(_LENGTH_S * rate_hz)) / rate_hz
    ratio = np.log(_HIGH_HZ / _LOW_HZ)
    phase = 2 * np.pi * _LOW_HZ * _LENGTH_S / ratio * (np.exp(time / _LENGTH_S * ratio) - 1.0)
    edge = np.clip(np.minimum(time, _LENGTH_S - time) / 0.01, 0.0, 1.0)
    return np.asarray(_LEVEL * np.sin(phase) * np.sin(np.pi / 2 * edge) ** 2, np.float32)


def find_chirp(captured: NDArray[np.float32], rate_hz: int) -> RoundTrip | None:
    """Find the chirp in what the microphone gave.

    Parameters
    ----------
    captured
        Mono, shape (n,), whose first sample was captured when the chirp was handed to the output.

    Returns
    -------
    RoundTrip or None
        ``None`` where it was not heard.
    """
    probe = chirp(rate_hz).astype(np.float64)
    if len(captured) <= len(probe):
        return None
    sound = captured.astype(np.float64)
    size = 1 << (len(sound) + len(probe)).bit_length()
    spectrum = np.fft.rfft(sound, size) * np.conj(np.fft.rfft(probe, size))
    lags = len(sound) - len(probe) + 1
    correlation = np.fft.irfft(spectrum, size)[:lags]
    summed = np.concatenate([[0.0], np.cumsum(sound**2)])
    under = np.maximum(summed[len(probe) :] - summed[: -len(probe)], 1e-12)
    match = np.abs(correlation) / np.sqrt(under * float((probe**2).sum()))
    quiet = under < 1e-4 * float(under.max())
    match[quiet] = 0.0
    best = int(np.argmax(match))
    if match[best] < _LEAST_MATCH:
        return None
    return RoundTrip(best / rate_hz, float(match[best]))


def settled(measures: Sequence[RoundTrip]) -> float | None:
    """The median delay of at least three measures; ``None`` where they spread too far: repeat them."""
    if len(measures) < 3:
        raise ValueError("three measures are needed")
    delays = [measure.delay_s for measure in measures]
    return float(np.median(delays)) if max(delays) - min(delays) <= MOST_SPREAD_S else None
