"""When blocks passed through a callback: one steady line through times that jitter."""

import numpy as np

_KEPT = 64


class BlockTimes:
    """The last blocks' frame numbers and times; written by a callback, read by others, no lock.

    A reader that comes in the middle of a writing sees one odd value among 64, which a median does not mind.
    """

    def __init__(self) -> None:
        self._frames = np.zeros(_KEPT)
        self._times_s = np.zeros(_KEPT)
        self.count = 0
        """Blocks so far."""

    def note(self, frame: int, time_s: float) -> None:
        """A block whose first frame has this number passed at this time."""
        at = self.count % _KEPT
        self._frames[at] = frame
        self._times_s[at] = time_s
        self.count += 1

    def restart(self) -> None:
        """Forget all but the last: the line begins anew (the device was opened again)."""
        last = (self.count - 1) % _KEPT
        self._frames[:] = self._frames[last]
        self._times_s[:] = self._times_s[last]

    def zero_s(self, rate_hz: int) -> float:
        """Time at which frame 0 would have passed: the median over the blocks known; 0 before any."""
        known = min(self.count, _KEPT)
        if known == 0:
            return 0.0
        return float(np.median(self._times_s[:known] - self._frames[:known] / rate_hz))
