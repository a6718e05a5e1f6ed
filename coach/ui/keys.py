"""Keyboard and pedal: Space and Enter press the one big action, Tab moves a ring that they press instead.

A page-turning pedal types PageDown or the right arrow for its right switch and PageUp or the left arrow for
its left one (common practice): right is the one action, left the quieter one beside it. While the ring is on
the neck or the line strip, the arrows move a cursor there (see `coach.ui.widgets.key_cursor`).
"""

from collections.abc import Iterator

from kivy.uix.textinput import TextInput
from kivy.uix.widget import Widget

from coach.ui.widgets.page import Page

SPACE, ENTER, KEYPAD_ENTER, TAB, ESCAPE = 32, 13, 271, 9, 27
ARROWS = {273: "up", 274: "down", 275: "right", 276: "left"}
PAGE_UP, PAGE_DOWN = 280, 281
SCROLL_SHARE = 0.7
"""How much of the page's height an arrow moves it."""


class Keys:
    """Turns keys into presses.

    Parameters
    ----------
    root
        The widget whose tree is walked for what can be focused.
    """

    def __init__(self, root: Widget) -> None:
        self._root = root
        self.page: Page | None = None
        self._focused: Widget | None = None

    def down(self, _window: object, key: int, _scancode: int, text: str | None, modifiers: list[str]) -> bool:
        """A key went down (the arguments of Kivy's ``on_key_down``); true if it was of use."""
        if self._typing() and key not in {TAB, ESCAPE}:
            return False
        match key:
            case 9:
                self.move(-1 if "shift" in modifiers else 1)
            case 27:
                self.forget()
            case 32 | 13 | 271:
                self._press()
            case 281:
                self._action()
            case 280:
                self._second()
            case 273 | 274 | 275 | 276:
                return self._arrow(ARROWS[key])
            case _:
                return self.page is not None and self.page.key(key, text or "", modifiers)
        return True

    def forget(self) -> None:
        """Take the ring away."""
        if self._focused is not None:
            if isinstance(self._focused, TextInput):
                self._focused.focus = False
            else:
                self._focused.focused = False
        self._focused = None

    def move(self, by: int) -> None:
        """Move the ring to the next or the last thing that can be pressed."""
        things = list(self.focusable())
        if not things:
            return
        at = things.index(self._focused) + by if self._focused in things else (0 if by > 0 else -1)
        self.forget()
        self._focused = things[at % len(things)]
        if isinstance(self._focused, TextInput):
            self._focused.focus = True
        else:
            self._focused.focused = True
        page = self.page
        if page is not None and any(each is self._focused for each in page.body.walk(restrict=True)):
            page.scroll.scroll_to(self._focused, padding=16, animate=False)

    def focusable(self) -> Iterator[Widget]:
        """All that can be pressed, in reading order: the page, its actions, then the places."""
        for widget in self._root.walk(restrict=True):
            usable = not widget.disabled and widget.get_root_window() is not None
            if usable and (hasattr(widget, "press_by_key") or isinstance(widget, TextInput)):
                yield widget

    def _typing(self) -> bool:
        return any(
            isinstance(widget, TextInput) and widget.focus for widget in self._root.walk(restrict=True)
        )

    def _press(self) -> None:
        ringed = self._ringed()
        if ringed is not None:
            ringed.press_by_key()
        else:
            self._action()

    def _action(self) -> None:
        if self.page is not None:
            self.page.press_action()

    def _second(self) -> None:
        if self.page is not None:
            self.page.press_second()

    def _moved(self, direction: str) -> bool:
        """Whether what is in the ring has a cursor that an arrow moves."""
        ringed = self._ringed()
        return ringed is not None and hasattr(ringed, "arrow_by_key") and bool(ringed.arrow_by_key(direction))

    def _ringed(self) -> Widget | None:
        """What is in the ring now; a drawing that was made anew takes ring and cursor of the old one."""
        things, old = list(self.focusable()), self._focused
        if old is None or old in things:
            return old
        heir = next((each for each in things if type(each) is type(old) and hasattr(each, "by_key")), None)
        if heir is not None:
            heir.by_key.at = old.by_key.at
            heir.focused = True
            self._focused = heir
        return heir

    def _arrow(self, direction: str) -> bool:
        page = self.page
        if page is None:
            return False
        if self._moved(direction) or page.arrow(direction):
            return True
        if direction == "right":
            page.press_action()
        elif direction == "left":
            page.press_second()
        else:
            room = page.body.height - page.scroll.height
            if room > 0:
                step = SCROLL_SHARE * page.scroll.height / room
                page.scroll.scroll_y += step if direction == "up" else -step
                page.scroll.scroll_y = min(1.0, max(0.0, page.scroll.scroll_y))
        return True
