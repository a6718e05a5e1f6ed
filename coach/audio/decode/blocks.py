"""Blocks of samples on their way into one stereo array."""

from collections.abc import Iterator
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coach.audio.decode.limits import MAX_FRAMES
from coach.sessions.ports import Samples

ABSURD = 1_000.0
"""Full scale is 1; a float file with samples beyond 60 dB above it holds no sound there."""


class BlockReader(Protocol):
    """An opened file that gives its sound block by block."""

    rate_hz: int
    expected_frames: int | None
    """What the header promises, ``None`` where it does not tell; never to be trusted."""

    lost: str | None
    """Known once all blocks were taken."""

    def blocks(self) -> Iterator[Samples]:
        """Stereo blocks, shape (n, 2)."""
        ...


def to_stereo(block: NDArray[np.float32]) -> Samples:
    """Two channels out of any number, shape (n, channels): one is doubled, more than two are averaged."""
    channels = block.shape[1]
    if channels == 2:
        return block
    return np.repeat(block.mean(axis=1, dtype=np.float32, keepdims=True), 2, axis=1)


def without_odd_samples(block: NDArray[np.float32]) -> tuple[NDArray[np.float32], bool]:
    """The block with NaN, infinities and absurd values silenced, and whether there were any."""
    peak = float(np.abs(block).max(initial=0.0))
    if peak < ABSURD:  # false for NaN too
        return block, False
    return np.where(np.abs(block) < ABSURD, block, np.float32(0.0)), True


class Gathered:
    """Grows one stereo array without ever holding it twice.

    Parameters
    ----------
    expected_frames
        How much is likely to come; a wrong guess costs nothing but a little time.
    """

    def __init__(self, expected_frames: int | None = None) -> None:
        capacity = min(expected_frames or 0, MAX_FRAMES)
        self._data = np.empty((max(capacity, 4_096), 2), np.float32)
        self.frames = 0

    def add(self, block: Samples) -> None:
        """Append a stereo block."""
        end = self.frames + block.shape[0]
        if end > self._data.shape[0]:
            self._data.resize((max(end, self._data.shape[0] * 3 // 2), 2), refcheck=False)
        self._data[self.frames : end] = block
        self.frames = end

    def taken(self) -> Samples:
        """The whole, shape (frames, 2); ends the gathering."""
        self._data.resize((self.frames, 2), refcheck=False)
        return self._data
