"""Whether a tone was struck, as a string is, or sounds on by itself, as a voice or the mains' hum does."""

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ

_ENVELOPE_SAMPLES, _HOP_SAMPLES = 192, 32
"""12 ms: a period of E2; in steps of 2 ms."""
_FROM, _TO = 0.2, 0.8
_FAST_S = 0.020
"""A struck string rises from a fifth to four fifths of its level within so long (measured on recorded ones:
6 to 20 ms, one of 30 took 28), a voice takes longer (22 to 30)."""
_FADES_DB_A_SECOND = -1.0
"""Guitar strings lose some 6 dB a second and more (common practice, no source)."""


def is_struck(
    attack: NDArray[np.float32], times_s: NDArray[np.float64], levels_db: NDArray[np.float64]
) -> bool:
    """Judge a tone by how it begins and how it goes on: one sign of a string is enough.

    Parameters
    ----------
    attack
        Half a second at 16 kHz in which it begins, shape (n,).
    times_s, levels_db
        Its level over time, shape (m,) each.
    """
    fades = len(times_s) > 1 and float(np.polyfit(times_s, levels_db, 1)[0]) <= _FADES_DB_A_SECOND
    return fades or rises_fast(attack)


def rises_fast(attack: NDArray[np.float32]) -> bool:
    """Whether there is a rise at all in a piece of sound at 16 kHz, shape (n,), and a fast one."""
    power = np.concatenate([[0.0], np.cumsum(attack.astype(np.float64) ** 2)])
    starts = np.arange(0, len(attack) - _ENVELOPE_SAMPLES, _HOP_SAMPLES)
    if len(starts) == 0:
        return False
    envelope = np.sqrt((power[starts + _ENVELOPE_SAMPLES] - power[starts]) / _ENVELOPE_SAMPLES)
    top = int(np.argmax(envelope))
    low = np.flatnonzero(envelope[:top] <= _FROM * envelope[top])
    if len(low) == 0:
        return False
    high = low[-1] + int(np.argmax(envelope[low[-1] :] >= _TO * envelope[top]))
    return bool((high - low[-1]) * _HOP_SAMPLES / RATE_HZ <= _FAST_S)
