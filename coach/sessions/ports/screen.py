"""The screen's own thread."""

from collections.abc import Callable
from typing import Protocol


class UiCalls(Protocol):
    """Brings a call from any thread to the screen's own."""

    def later(self, call: Callable[[], None]) -> None:
        """Run the call on the screen's thread soon."""
        ...
