"""Time."""

from datetime import date, datetime
from typing import Protocol


class Clock(Protocol):
    """The wall clock and a steady clock."""

    def now(self) -> datetime:
        """The present moment, with its time zone."""
        ...

    def today(self) -> date:
        """The present day where the player is."""
        ...

    def steady_s(self) -> float:
        """Seconds of a clock that never jumps; only differences mean something."""
        ...

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        ...
