"""Keyboard and pedal: Space and Enter press the one big action, Tab moves a ring that they press instead.

A page-turning pedal types PageDown or the right arrow for its right switch and PageUp or the left arrow for
its left one (common practice): right is the one action, left the quieter one beside it. While the ring is on
the neck or the line strip, the arrows move a cursor there (see `coach.ui.widgets.key_cursor`).
"""

from collections.abc import Iterator

from kivy.uix.textinput import TextInput
from kivy.uix.widget import Widget

from coach.ui.widgets.buttons import Weight
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
        self._at = -1

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
        if self._focused in things:
            at = things.index(self._focused) + by
        elif self._focused is not None:
            at = self._at  # what was there is gone: go on from its place
        else:
            at = 0 if by > 0 else -1
        self.forget()
        self._at = at % len(things)
        self._focused = things[self._at]
        if isinstance(self._focused, TextInput):
            self._focused.focus = True
        else:
            self._focused.focused = True
        page = self.page
        if page is not None and any(each is self._focused for each in page.body.walk(restrict=True)):
            page.scroll.scroll_to(self._focused, padding=16, animate=False)

    @property
    def ring(self) -> tuple[Widget | None, int]:
        """What is in the ring, and its number among all that can be."""
        return self._focused, self._at

    def drawn_anew(self, ring: tuple[Widget | None, int] | None = None) -> None:
        """The page was drawn anew: the ring stays on what is in the old one's place.

        Parameters
        ----------
        ring
            As it was in another frame, where the whole frame was made anew.
        """
        if ring is not None:
            self._focused, self._at = ring
        self._ringed()

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
        heir = self._heir(things, old)
        if heir is not None:
            if hasattr(heir, "by_key") and hasattr(old, "by_key"):
                heir.by_key.at = old.by_key.at
            heir.focused = True
            self._focused, self._at = heir, things.index(heir)
        return heir

    def _heir(self, things: list[Widget], old: Widget) -> Widget | None:
        """What stands where the ringed thing stood: the drawing of its kind, else the button of its words.

        The big action stays what it is, whatever its words are.
        """
        alike = [each for each in things if type(each) is type(old) and not isinstance(each, TextInput)]
        if hasattr(old, "by_key"):
            return next(iter(alike), None)
        if getattr(old, "weight", None) is Weight.BIG:
            return next((each for each in alike if each.weight is Weight.BIG), None)
        same = [each for each in alike if getattr(each, "said", None) == getattr(old, "said", "")]
        if same:
            return min(same, key=lambda each: abs(things.index(each) - self._at))
        there = things[self._at] if 0 <= self._at < len(things) else None
        return there if there in alike else None

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
