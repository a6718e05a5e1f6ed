"""A ring of samples between a sound card's callback and the rest of the program.

One thread writes, one reads, no lock: each side only ever changes its own counter, and reads the other's.
"""

import numpy as np
from numpy.typing import NDArray

from coach.sessions.ports import Samples


class SampleRing:
    """Float32 frames, the oldest of which are overwritten when nobody takes them.

    Parameters
    ----------
    frames
        Capacity, rounded up to a power of two.
    channels
        Samples in a frame.
    """

    def __init__(self, frames: int, channels: int) -> None:
        self._size = 1 << max(1, (frames - 1).bit_length())
        self._mask = self._size - 1
        self._data = np.zeros((self._size, channels), np.float32)
        self.written = 0
        """Frames ever written; changed by the writer only."""
        self.taken = 0
        """Frames ever taken or skipped; changed by the reader only."""

    @property
    def size(self) -> int:
        """Capacity in frames."""
        return self._size

    @property
    def waiting(self) -> int:
        """Frames written and not yet taken."""
        return self.written - self.taken

    def write(self, block: NDArray[np.float32]) -> None:
        """Append frames, shape (n, channels); copies only."""
        count = block.shape[0]
        at = self.written & self._mask
        first = min(count, self._size - at)
        self._data[at : at + first] = block[:first]
        if first < count:
            self._data[: count - first] = block[first:]
        self.written += count

    def read_into(self, out: NDArray[np.float32]) -> int:
        """Fill ``out`` from its beginning with what waits; tells how many frames that were. Copies only."""
        count: int = min(out.shape[0], self.waiting)
        at = self.taken & self._mask
        first = min(count, self._size - at)
        out[:first] = self._data[at : at + first]
        if first < count:
            out[first:count] = self._data[: count - first]
        self.taken += count
        return count

    def take(self, most: int | None = None) -> tuple[int, Samples]:
        """What waits (at most ``most`` frames) and the number of its first frame.

        If the writer has lapped the reader, what was overwritten is skipped: the number then jumps.
        """
        while True:
            end = self.written
            # An eighth is kept clear of the writer, who goes on while this copies.
            begin = max(self.taken, end - self._size * 7 // 8)
            if most is not None:
                end = min(end, begin + most)
            out = self._copy(begin, end)
            if self.written - begin <= self._size:
                self.taken = end
                return begin, out

    def latest(self, count: int) -> Samples:
        """The last ``count`` frames, fewer if fewer were written; takes nothing."""
        while True:
            end = self.written
            begin = max(0, end - min(count, self._size * 7 // 8))
            out = self._copy(begin, end)
            if self.written - begin <= self._size:
                return out

    def past(self, count: int) -> tuple[int, Samples]:
        """The last ``count`` frames that were taken, fewer if fewer were, and the number of the first one."""
        end = self.taken
        begin = max(0, end - count, self.written - self._size * 7 // 8)
        return begin, self._copy(min(begin, end), end)

    def _copy(self, begin: int, end: int) -> Samples:
        at = begin & self._mask
        first = min(end - begin, self._size - at)
        return np.concatenate([self._data[at : at + first], self._data[: end - begin - first]])
