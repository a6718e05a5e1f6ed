"""What the microphone hears now, for the level bar."""

from dataclasses import dataclass
from typing import Protocol

QUIETEST_DB = -72.0
"""Left end of the level bar: below the noise of any microphone (our own choice)."""


@dataclass(frozen=True, slots=True)
class HeardLevel:
    """The level bar's values.

    Parameters
    ----------
    level_db
        Loudness now, dB below full scale.
    floor_db
        The room's noise, ``None`` until it is known.
    word
        What to do or that all is well, one short sentence.
    """

    level_db: float
    floor_db: float | None = None
    word: str = ""


class LevelSource(Protocol):
    """Whoever listens."""

    def level(self) -> HeardLevel | None:
        """The level now, ``None`` while nothing is heard (deaf or no microphone)."""
        ...


def bar_share(level_db: float) -> float:
    """Where a level lies on the bar, 0 (left) to 1 (full scale)."""
    return min(1.0, max(0.0, 1.0 - level_db / QUIETEST_DB))
