"""From the sound card's rate to 16 kHz, as a stream and with little delay."""

import math

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ

_STOP_DB = 60.0
_PASS_HZ = 6_800.0
_STOP_HZ = 9_200.0
"""What aliases from 8 to 9.2 kHz lands above 6.8 kHz, where no partial is needed."""
RATE_RANGE_HZ = (4_000, 384_000)


class Decimator:
    """A polyphase low-pass filter that gives 16 kHz out of any usual rate.

    Output sample ``k`` belongs to the input at ``k / 16000`` seconds exactly: the filter is centred, so it
    holds back half its length (under a millisecond) and shifts nothing.

    The filter is a Kaiser window design (Kaiser 1974): with stop-band attenuation A in dB and transition
    width Δω in radians a sample, length (A - 8) / (2.285 Δω) + 1 and β = 0.1102 (A - 8.7).

    Parameters
    ----------
    rate_hz
        Sample rate of what will be pushed, 4 to 384 kHz; ``ValueError`` beyond.
    """

    def __init__(self, rate_hz: int) -> None:
        if not RATE_RANGE_HZ[0] <= rate_hz <= RATE_RANGE_HZ[1]:
            raise ValueError(f"cannot resample from {rate_hz} Hz")
        common = math.gcd(rate_hz, RATE_HZ)
        self._up, self._down = RATE_HZ // common, rate_hz // common
        self._half = _half_length(rate_hz)
        self._table = _phases(rate_hz, self._up, self._half)
        self._held = np.zeros(self._half, np.float32)
        self._first = -self._half
        self._given = 0
        self._identity = rate_hz == RATE_HZ
        self.delay_s = 0.0 if self._identity else self._half / rate_hz
        """Seconds of input that are held back."""

    def push(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """Take the next mono samples, shape (n,), and give what can be given of the 16 kHz signal."""
        if samples.ndim != 1:
            raise ValueError("one channel of samples is wanted")
        if self._identity:
            return samples.astype(np.float32)
        self._held = np.concatenate([self._held, samples.astype(np.float32, copy=False)])
        end = self._first + len(self._held)
        last_centre = end - self._half - 1
        count = max(0, ((last_centre + 1) * self._up - 1) // self._down + 1 - self._given)
        if count == 0:
            return np.zeros(0, np.float32)
        out = self._whole_steps(count) if self._up == 1 else self._broken_steps(count)
        self._given += count
        keep_from = (self._given * self._down) // self._up - self._half + 1
        self._held = self._held[max(0, keep_from - self._first) :]
        self._first = max(self._first, keep_from)
        return np.asarray(out, np.float32)

    def _whole_steps(self, count: int) -> NDArray[np.float32]:
        """The next outputs where each lies on an input sample: one filter for all."""
        first = self._given * self._down - self._half + 1 - self._first
        # A view: its rows overlap and nothing is copied.
        windows = np.ndarray((count, 2 * self._half), np.float32, self._held, 4 * first, (4 * self._down, 4))
        return np.asarray(np.einsum("ij,j->i", windows, self._table[0]))

    def _broken_steps(self, count: int) -> NDArray[np.float32]:
        """The next outputs where they lie between input samples: a filter for each fraction."""
        position = np.arange(self._given, self._given + count) * self._down
        centre, phase = np.divmod(position, self._up)
        taps = 2 * self._half
        windows = np.ndarray((len(self._held) - taps + 1, taps), np.float32, self._held, 0, (4, 4))
        rows = windows[centre - (self._half - 1 + self._first)]
        return np.asarray(np.einsum("ij,ij->i", rows, self._table[phase]))

    def flush(self) -> NDArray[np.float32]:
        """What the filter still holds, as if silence followed."""
        return self.push(np.zeros(self._half, np.float32)) if not self._identity else np.zeros(0, np.float32)


def _half_length(rate_hz: int) -> int:
    width = 2.0 * math.pi * (_STOP_HZ - _PASS_HZ) / max(rate_hz, 2 * _STOP_HZ)
    return math.ceil(((_STOP_DB - 8.0) / (2.285 * width) + 1.0) / 2.0)


def _phases(rate_hz: int, up: int, half: int) -> NDArray[np.float32]:
    """Filter taps for each fraction of an input sample; shape (up, 2 * half)."""
    cutoff = min((_PASS_HZ + _STOP_HZ) / 2.0 / rate_hz, 0.5)
    fraction = np.arange(up)[:, np.newaxis] / up
    distance = np.arange(-half + 1, half + 1)[np.newaxis, :] - fraction
    beta = 0.1102 * (_STOP_DB - 8.7)
    window = np.i0(beta * np.sqrt(np.clip(1.0 - (distance / half) ** 2, 0.0, None))) / np.i0(beta)
    taps = 2.0 * cutoff * np.sinc(2.0 * cutoff * distance) * window
    return np.asarray(taps / taps.sum(axis=1, keepdims=True), np.float32)
