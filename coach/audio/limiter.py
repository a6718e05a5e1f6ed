"""Keeps a mix under a ceiling, whatever is put in."""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from coach.sessions.ports import Samples

CEILING_DB = -1.0
"""Against full scale: leaves room for peaks between samples (EBU R 128 names -1 dBTP as the maximum)."""

LOOK_AHEAD_S = 0.004
HOLD_S = 0.060
"""The gain stays down this long, longer than a period of any note, so that it does not ride on the wave."""


class Limiter:
    """A look-ahead limiter; its sound comes `delay` samples later.

    The gain each sample needs is held at its least over the coming `LOOK_AHEAD_S` and past `HOLD_S`, then
    averaged over `LOOK_AHEAD_S`: the average of gains that are all low enough is low enough.

    Parameters
    ----------
    rate_hz
        Samples a second.
    """

    def __init__(self, rate_hz: int) -> None:
        self._ceiling = 10.0 ** (CEILING_DB / 20.0)
        self.delay = max(1, round(LOOK_AHEAD_S * rate_hz))
        self._hold = max(1, round(HOLD_S * rate_hz))
        self._sound = np.zeros((self.delay, 2), np.float32)
        self._needs = np.ones(self._hold + 2 * self.delay, np.float32)

    def push(self, block: Samples) -> Samples:
        """The next block, shape (n, 2), as loud as it may be; `delay` samples late."""
        count = block.shape[0]
        peaks = np.abs(block).max(axis=1)
        needs = np.concatenate([self._needs, self._ceiling / np.maximum(peaks, self._ceiling)])
        sound = np.concatenate([self._sound, block])
        self._needs, self._sound = needs[count:], sound[count:]
        out = sound[:count]
        if float(needs.min()) == 1.0:
            return out
        least = sliding_window_view(needs, self._hold + self.delay).min(axis=1)
        sums = np.concatenate([[0.0], np.cumsum(least, dtype=np.float64)])
        gains = ((sums[self.delay :] - sums[: -self.delay]) / self.delay)[-count:]
        limited = out * gains[:, None].astype(np.float32)
        return np.asarray(np.clip(limited, -self._ceiling, self._ceiling), np.float32)
