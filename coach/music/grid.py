"""The beat grid: between quarter notes and seconds of a recording."""

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from typing import Self


@dataclass(frozen=True, slots=True)
class BeatGrid:
    """A piecewise linear map between musical time and recorded time.

    Parameters
    ----------
    quarters
        Rising musical times, at least two, in quarter notes (exact).
    seconds
        The recorded time of each, rising, in seconds.

    Before the first and after the last anchor the nearest piece goes on straight.
    """

    quarters: tuple[Fraction, ...]
    seconds: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.quarters) != len(self.seconds) or len(self.quarters) < 2:
            raise ValueError("a grid needs at least two anchors, each with both times")
        if any(b <= a for a, b in zip(self.quarters, self.quarters[1:], strict=False)) or any(
            b <= a for a, b in zip(self.seconds, self.seconds[1:], strict=False)
        ):
            raise ValueError("the anchors of a grid must rise")

    @classmethod
    def steady(cls, tempo_bpm: float, offset_s: float = 0.0) -> Self:
        """A grid of constant tempo (quarter notes a minute) whose quarter 0 lies at ``offset_s``."""
        if tempo_bpm <= 0.0:
            raise ValueError("a tempo must be positive")
        return cls((Fraction(0), Fraction(1)), (offset_s, offset_s + 60.0 / tempo_bpm))

    @property
    def tempo_bpm(self) -> float:
        """Quarter notes a minute, over all anchors."""
        return 60.0 * float(self.quarters[-1] - self.quarters[0]) / (self.seconds[-1] - self.seconds[0])

    def second_of(self, quarter: Fraction | float) -> float:
        """Recorded time in seconds of a musical time in quarters."""
        i = self._piece(bisect_right(self.quarters, quarter))
        q0, q1, s0, s1 = self.quarters[i], self.quarters[i + 1], self.seconds[i], self.seconds[i + 1]
        return s0 + float(quarter - q0) * (s1 - s0) / float(q1 - q0)

    def quarter_of(self, second: float) -> float:
        """Musical time in quarters (not rounded to any grid) of a recorded time in seconds."""
        i = self._piece(bisect_right(self.seconds, second))
        q0, q1, s0, s1 = self.quarters[i], self.quarters[i + 1], self.seconds[i], self.seconds[i + 1]
        return float(q0) + (second - s0) * float(q1 - q0) / (s1 - s0)

    def _piece(self, after: int) -> int:
        return min(max(after - 1, 0), len(self.quarters) - 2)
