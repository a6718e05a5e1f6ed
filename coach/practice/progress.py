"""Progress: the fold over the log."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Progress:
    """Where the player stands, computed from all events up to ``seq``."""

    seq: int = 0
