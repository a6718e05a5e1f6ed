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
_LENGTH_S, _LEVEL = 0.12, 0.25
"""Of the chirp, and its peak: short and soft enough not to startle (our own choice)."""
MOST_SPREAD_S = 0.005
"""If measures lie further apart than this, measure again."""
_BAND_HZ = (150.0, 6_500.0)
"""Where played and captured sound are compared: a little further, as notes are played, too."""
_SMOOTHED = 0.05
"""Of the mean power is added before dividing: bins that hold nothing are not blown up."""
_PULSE_S = 0.006
"""Half the width of the pulse: what lies nearer to its peak is the pulse itself."""
_PROMINENT = 1.6
"""The way's pulse over the highest one more than 6 ms away: none was wrong from here on (measured in some 500
simulated rooms with prompts of all timbres, notes of a guitar, noise at 30, 10 and 0 dB, and noise alone)."""
_EDGE_S = 0.1
"""How long the soft edges are that are given to what was cut out of a longer sound."""
_LEAST_LIKENESS = 0.2
"""Correlation with what was played (0 to 1) below which it was not heard for certain."""
USUAL_WIRED_S = 0.12
"""A longer round trip is typical of wireless headphones. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class RoundTrip:
    """A measured delay in seconds and how well the chirp matched, 0 to 1."""

    delay_s: float
    match: float

    @property
    def wireless(self) -> bool:
        """Whether it is so long that the headphones are likely wireless, and a cable advised."""
        return self.delay_s > USUAL_WIRED_S


def chirp(rate_hz: int) -> NDArray[np.float32]:
    """The prompt: 0.12 s rising from 500 Hz to 4 kHz with soft edges, mono, peak 0.25."""
    time = np.arange(round(_LENGTH_S * rate_hz)) / rate_hz
    ratio = np.log(_HIGH_HZ / _LOW_HZ)
    phase = 2 * np.pi * _LOW_HZ * _LENGTH_S / ratio * (np.exp(time / _LENGTH_S * ratio) - 1.0)
    edge = np.clip(np.minimum(time, _LENGTH_S - time) / 0.01, 0.0, 1.0)
    return np.asarray(_LEVEL * np.sin(phase) * np.sin(np.pi / 2 * edge) ** 2, np.float32)


def settled(measures: Sequence[RoundTrip]) -> float | None:
    """The median delay of at least three measures; ``None`` where they spread too far: repeat them."""
    if len(measures) < 3:
        raise ValueError("three measures are needed")
    delays = [measure.delay_s for measure in measures]
    return float(np.median(delays)) if max(delays) - min(delays) <= MOST_SPREAD_S else None


def find_sound(captured: NDArray[np.float32], played: NDArray[np.float32], rate_hz: int) -> RoundTrip | None:
    """Find any sound that was played in what the microphone gave: no chirp need be heard.

    The captured spectrum is divided by the played one (Wiener's deconvolution), which leaves the way between
    them as a pulse; tones of steady pitch that leave none are not judged.

    Parameters
    ----------
    captured
        Mono, shape (n,), whose first sample was captured when the first one of ``played`` was handed out.
    played
        Mono, shape (m,) with m < n.
    rate_hz
        Of both.

    Returns
    -------
    RoundTrip or None
        ``None`` where it was not heard for certain.
    """
    lags = len(captured) - len(played)
    if lags <= 0 or not played.any() or not captured.any():
        return None
    size = 1 << (len(captured) + len(played)).bit_length()
    soft = _tapered(played, rate_hz)
    given = np.fft.rfft(soft, size)
    taken = np.fft.rfft(captured.astype(np.float64), size)
    hz = np.fft.rfftfreq(size, 1.0 / rate_hz)
    inside = (hz >= _BAND_HZ[0]) & (hz <= min(_BAND_HZ[1], 0.45 * rate_hz))
    power = np.abs(given) ** 2
    way = taken * np.conj(given) / (power + _SMOOTHED * float(power[inside].mean())) * inside
    pulse = np.abs(np.fft.irfft(way, size)[: lags + 1])
    best = int(np.argmax(pulse))
    about = np.abs(np.arange(len(pulse)) - best) <= round(_PULSE_S * rate_hz)
    if pulse[best] < _PROMINENT * float(pulse[~about].max(initial=0.0)):
        return None
    part = captured[best : best + len(played)].astype(np.float64)
    energy = float((part**2).sum() * (soft**2).sum())
    likeness = abs(float(np.dot(part, soft))) / max(float(np.sqrt(energy)), 1e-12)
    return RoundTrip(best / rate_hz, min(1.0, likeness)) if likeness >= _LEAST_LIKENESS else None


def _tapered(sound: NDArray[np.float32], rate_hz: int) -> NDArray[np.float64]:
    """With soft edges: where a tone is cut off there is no attack to be found."""
    edge = min(len(sound) // 2, round(_EDGE_S * rate_hz))
    rise = np.sin(np.linspace(0.0, np.pi / 2, edge)) ** 2
    out = sound.astype(np.float64)
    out[:edge] *= rise
    out[len(out) - edge :] *= rise[::-1]
    return out
