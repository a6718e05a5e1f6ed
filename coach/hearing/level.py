"""The level check: how loud, how noisy, whether it clips."""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ

_BLOCK_SAMPLES = 320
"""20 ms, a usual frame for speech and level measures (common practice, no source)."""
_KEPT_BLOCKS = 1_500
"""The noise floor is taken over the last half minute."""
_FLOOR_SHARE = 0.1
"""So large a share of the levels lies under the floor: there are rests in all playing."""
_FLOOR_BLOCKS = 5
"""And found anew every 0.1 s: it is a matter of seconds."""
_CLIP_LEVEL = 0.985
"""Full scale, less what a converter or a gain may have rounded off."""
_CLIP_RUN = 3
"""So many samples in a row at full scale are a clipped peak; music touches it once (common practice)."""
_CLIP_SHOWN_S = 2.0
"""Long enough to be seen."""
_QUIET_DB = -100.0
"""What digital silence is called."""
TOO_NOISY_DB = -45.0
"""A room this loud hides soft notes; measured: notes 10 dB over the noise are still heard for certain."""


@dataclass(frozen=True, slots=True)
class Level:
    """The state of the input.

    Parameters
    ----------
    now_db
        Level of the last 20 ms, dB re full scale.
    floor_db
        Noise floor: the level that nine tenths of the last half minute lie above.
    clipping
        Whether peaks were cut off within the last two seconds.
    noisy
        Whether the floor is too high for soft notes.
    """

    now_db: float
    floor_db: float
    clipping: bool
    noisy: bool


class LevelMeter:
    """Follows the level of a 16 kHz stream (or any rate: then ``rate_hz`` tells it)."""

    def __init__(self, rate_hz: int = RATE_HZ) -> None:
        self._block = round(_BLOCK_SAMPLES * rate_hz / RATE_HZ)
        self._held = np.zeros(0, np.float32)
        self._levels: deque[float] = deque(maxlen=_KEPT_BLOCKS)
        self._blocks_since_clip = 10**9
        self._blocks_since_floor = 0
        self._floor_db = _QUIET_DB
        self._run = 0

    def push(self, samples: NDArray[np.float32]) -> Level:
        """Take the next mono samples, shape (n,), and give the state."""
        self._held = np.concatenate([self._held, samples.astype(np.float32, copy=False)])
        while len(self._held) >= self._block:
            self._take(self._held[: self._block])
            self._held = self._held[self._block :]
        return self.level

    @property
    def level(self) -> Level:
        """The state now."""
        if self._blocks_since_floor >= min(_FLOOR_BLOCKS, len(self._levels)) > 0:
            self._floor_db = float(np.quantile(np.asarray(self._levels), _FLOOR_SHARE))
            self._blocks_since_floor = 0
        return Level(
            now_db=self._levels[-1] if self._levels else _QUIET_DB,
            floor_db=self._floor_db,
            clipping=self._blocks_since_clip * _BLOCK_SAMPLES / RATE_HZ < _CLIP_SHOWN_S,
            noisy=self._floor_db > TOO_NOISY_DB,
        )

    def _take(self, block: NDArray[np.float32]) -> None:
        self._levels.append(_db(float(np.sqrt(np.mean(np.square(block, dtype=np.float64))))))
        self._blocks_since_clip += 1
        self._blocks_since_floor += 1
        if self._longest_full_run(block) >= _CLIP_RUN:
            self._blocks_since_clip = 0

    def _longest_full_run(self, block: NDArray[np.float32]) -> int:
        all_full = np.abs(block) >= _CLIP_LEVEL
        if not all_full.any():
            self._run = 0
            return 0
        longest = 0
        for full in all_full:
            self._run = self._run + 1 if full else 0
            longest = max(longest, self._run)
        return longest


def _db(amplitude: float) -> float:
    return max(_QUIET_DB, 20.0 * float(np.log10(max(amplitude, 1e-9))))
