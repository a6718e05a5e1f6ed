"""A stretch of time in a recording."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """The stretch [start_s, end_s) in seconds from the first decoded sample."""

    start_s: float
    end_s: float

    def __post_init__(self) -> None:
        if not self.start_s < self.end_s:
            raise ValueError(f"a span must end after it starts: {self.start_s} to {self.end_s}")

    @property
    def length_s(self) -> float:
        """Length in seconds, above zero."""
        return self.end_s - self.start_s

    def shared_s(self, other: "Span") -> float:
        """Seconds that two spans have in common, 0 where they do not meet."""
        return max(0.0, min(self.end_s, other.end_s) - max(self.start_s, other.start_s))
