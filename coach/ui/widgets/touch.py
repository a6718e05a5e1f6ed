"""A touch, as far as the drawings use it."""

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
