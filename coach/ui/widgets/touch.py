"""A touch, as far as the drawings use it."""

from dataclasses import dataclass
from math import hypot
from typing import Any, Protocol


class Touch(Protocol):
    """Kivy's ``MotionEvent``: where it is, where it began (``ox``, ``oy``), who holds it, notes."""

    pos: tuple[float, float]
    x: float
    y: float
    ox: float
    oy: float
    ud: dict[str, Any]
    grab_current: object
    is_mouse_scrolling: bool

    def grab(self, widget: object) -> None:
        """Hand all that follows to a widget."""
        ...

    def ungrab(self, widget: object) -> None:
        """Let go."""
        ...


def travelled(touch: Touch) -> float:
    """How far it has moved since it began, in pixels (along both axes)."""
    return abs(touch.x - touch.ox) + abs(touch.y - touch.oy)


_LEAST_PX = 10.0
"""Two fingers are never taken for nearer than that: a pinch from nothing would jump."""


@dataclass(slots=True)
class Pinch:
    """Two fingers that draw something nearer (apart) or wider (together).

    Parameters
    ----------
    one, other
        The two touches.
    began
        Zoom when the second one came down.
    about
        What lay between them then.
    """

    one: Touch
    other: Touch
    began: float
    about: float
    _from: float = 0.0

    def __post_init__(self) -> None:
        self._from = self._apart

    @property
    def _apart(self) -> float:
        return max(_LEAST_PX, hypot(self.one.x - self.other.x, self.one.y - self.other.y))

    @property
    def zoom(self) -> float:
        """The zoom that the fingers ask for now."""
        return self.began * self._apart / self._from
