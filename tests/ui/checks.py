# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""What must hold of every screen at every size: nothing clipped, every target large enough."""

from collections.abc import Iterator
from typing import Any

SLACK_PX = 1.5
"""Positions are rounded to whole pixels once or twice on their way."""
ROUNDING_DP = 0.5


def faults(window: Any) -> list[str]:
    """Everything that is wrong with what is shown, in words."""
    return [*_texts(window), *_places(window), *_targets(window), *_overlaps(window)]


def _name(widget: Any) -> str:
    said = getattr(widget, "said", getattr(widget, "text", ""))
    return f"{type(widget).__name__}({said!r})"


def _texts(window: Any) -> Iterator[str]:
    from kivy.uix.label import Label

    for widget in window.walk():
        if isinstance(widget, Label) and widget.text:
            width, height = widget.texture_size
            if width > widget.width + SLACK_PX or height > widget.height + SLACK_PX:
                yield f"{_name(widget)} needs {width}x{height}, has {widget.width:.0f}x{widget.height:.0f}"


def _box(widget: Any) -> tuple[float, float, float, float]:
    left, low = widget.to_window(widget.x, widget.y)
    return (left, low, left + widget.width, low + widget.height)


def _leaves(child: Any, parent: Any) -> bool:
    left, low, right, high = _box(child)
    from_left, from_low, to_right, to_high = _box(parent)
    sideways = left < from_left - SLACK_PX or right > to_right + SLACK_PX
    upwards = low < from_low - SLACK_PX or high > to_high + SLACK_PX
    return (sideways or upwards) and child.width > 1 and child.height > 1


def _places(window: Any) -> Iterator[str]:
    """Every widget lies in its parent; a scrolled column may be higher than its window, never wider."""
    from kivy.uix.scrollview import ScrollView

    def inside(parent: Any) -> Iterator[str]:
        for child in parent.children:
            if isinstance(parent, ScrollView):
                if child.width > parent.width + SLACK_PX:
                    yield f"{_name(child)} is wider than its scrolled window"
            elif _leaves(child, parent):
                yield f"{_name(child)} at {_box(child)} leaves {_name(parent)} at {_box(parent)}"
            yield from inside(child)

    for root in window.kivy.children:
        if root.width > window.kivy.width + SLACK_PX or root.height > window.kivy.height + SLACK_PX:
            yield "the frame is larger than the window"
        yield from inside(root)


def _targets(window: Any) -> Iterator[str]:
    from kivy.metrics import dp

    from coach.ui.theme import TARGET_DP

    for widget in window.walk():
        if hasattr(widget, "press_by_key") and min(widget.size) < dp(TARGET_DP) - dp(ROUNDING_DP):
            yield f"{_name(widget)} is too small a target: {widget.width:.0f}x{widget.height:.0f}"


def _overlaps(window: Any) -> Iterator[str]:
    """No two targets lie over each other."""
    targets = [widget for widget in window.walk() if hasattr(widget, "press_by_key")]
    boxes = []
    for widget in targets:
        x, y = widget.to_window(widget.x, widget.y)
        boxes.append((widget, x, y, x + widget.width, y + widget.height))
    page = window.frame.page
    scrolled = set(page.body.walk(restrict=True)) if page is not None else set()
    for index, (one, left, low, right, high) in enumerate(boxes):
        for other, left2, low2, right2, high2 in boxes[index + 1 :]:
            if (one in scrolled) != (other in scrolled):
                continue  # a scrolled page may run below the footer, where it is not drawn
            if (
                min(right, right2) - max(left, left2) > SLACK_PX
                and min(high, high2) - max(low, low2) > SLACK_PX
            ):
                yield f"{_name(one)} and {_name(other)} overlap"
