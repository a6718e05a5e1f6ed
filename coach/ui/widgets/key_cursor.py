"""Cursors by which the keyboard works a drawing: Tab puts the ring on it, arrows move, Enter or Space taps.

Without the keyboard nothing is drawn and nothing changes.
"""

from fractions import Fraction

from kivy.graphics import InstructionGroup, SmoothLine
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import draw_focus, paint

STRINGS = 6


class NeckCursor:
    """A place on the neck: left and right go along the string as it is drawn, up and down to the next one.

    Parameters
    ----------
    neck
        The `FretboardView`; `coach.ui.keys.Keys` can focus it from now on, and ``tapped`` is called.
    """

    def __init__(self, neck: Widget) -> None:
        self.neck = neck
        self.at: tuple[int, int] | None = None
        self._ring = InstructionGroup()
        neck.canvas.after.add(self._ring)
        neck.create_property("focused", False)
        neck.press_by_key, neck.arrow_by_key = self.press, self.move
        draw_focus(neck, neck.look)
        neck.bind(focused=self._draw, pos=self._draw, size=self._draw, first=self._draw)

    @property
    def place(self) -> tuple[int, int]:
        """String and fret; where a note is to begin with, else the open first string."""
        if self.at is not None:
            return self.at
        notes = sorted(self.neck.view.notes, key=lambda note: not note.chosen)
        return (notes[0].string, notes[0].fret) if notes else (1, 0)

    def press(self) -> None:
        """Tap the place."""
        if self.neck.tapped is not None:
            self.at = self.place
            self.neck.tapped(*self.at)

    def move(self, direction: str) -> bool:
        """Move by an arrow; always of use, also at an edge, where it stays."""
        string, fret = self.place
        along = -1 if self.neck.look.left_handed else 1
        by_string, by_fret = {"up": (-1, 0), "down": (1, 0), "right": (0, along), "left": (0, -along)}[
            direction
        ]
        self.at = (
            min(STRINGS, max(1, string + by_string)),
            min(self.neck.view.frets, max(0, fret + by_fret)),
        )
        self._bring_in_sight(self.at[1])
        self._draw()
        return True

    def _bring_in_sight(self, fret: int) -> None:
        neck = self.neck
        if fret > 0 and fret - 1 < neck.first:
            neck.first = fret - 1
        elif fret > neck.first + neck.frets_shown:
            neck.first = fret - neck.frets_shown
        elif fret == 0:
            neck.first = 0

    def _draw(self, *_: object) -> None:
        self._ring.clear()
        neck = self.neck
        if not neck.focused:
            return
        radius = min(neck.string_gap, neck.fret_width) * 0.46 + dp(4)
        self._ring.add(paint(neck.look.theme.focus))
        self._ring.add(SmoothLine(circle=(*neck.place(*self.place), radius), width=dp(2)))


class KeysCursor:
    """A key of the `KeyRow`: left and right by a fret, up and down by twelve."""

    def __init__(self, keys: Widget) -> None:
        self.keys = keys
        self.at: int | None = None
        self._ring = InstructionGroup()
        keys.canvas.after.add(self._ring)
        keys.create_property("focused", False)
        keys.press_by_key, keys.arrow_by_key = self.press, self.move
        draw_focus(keys, keys.look)
        keys.bind(focused=self._draw, pos=self._draw, size=self._draw, first=self._draw)

    @property
    def place(self) -> int:
        """The note; what is in question to begin with, else the middle of the line's register."""
        return self.at if self.at is not None else self.keys.view.shown or self.keys.view.near

    def press(self) -> None:
        """Tap the key."""
        self.at = self.place
        self.keys.tapped(self.at)

    def move(self, direction: str) -> bool:
        """Move by an arrow; always of use, also at an end, where it stays."""
        view, by = self.keys.view, {"up": 12, "down": -12, "right": 1, "left": -1}[direction]
        wanted = self.place + by
        self.at = wanted if view.lowest <= wanted <= view.highest else self.place
        self.keys.bring(self.at)
        self._draw()
        return True

    def _draw(self, *_: object) -> None:
        self._ring.clear()
        if not self.keys.focused:
            return
        left, low, width, high = self.keys.box(self.place)
        self._ring.add(paint(self.keys.look.theme.focus))
        self._ring.add(SmoothLine(rounded_rectangle=(left, low, width, high, dp(8)), width=dp(2.5)))


class StripCursor:
    """A time of a line on the `LineStrip`: left and right by its grid, up and down to the other line."""

    def __init__(self, strip: Widget) -> None:
        self.strip = strip
        self.at: tuple[LineKind, Fraction] | None = None
        self._ring = InstructionGroup()
        strip.canvas.after.add(self._ring)
        strip.create_property("focused", False)
        strip.press_by_key, strip.arrow_by_key = self.press, self.move
        draw_focus(strip, strip.look)
        strip.bind(focused=self._draw, pos=self._draw, size=self._draw)

    @property
    def place(self) -> tuple[LineKind, Fraction]:
        """Line and musical time; what is chosen to begin with, else the beginning."""
        view = self.strip.view
        kind, time = self.at or view.chosen or (view.kinds[0], view.bars[0])
        if kind not in view.kinds or not view.bars[0] <= time < view.bars[-1]:
            return (view.kinds[0], view.bars[0])
        return (kind, time)

    def press(self) -> None:
        """Tap the place."""
        if self.strip.tapped is not None:
            self.at = self.place
            self.strip.tapped(*self.at)

    def move(self, direction: str) -> bool:
        """Move by an arrow; always of use, also at an end, where it stays."""
        view, (kind, time) = self.strip.view, self.place
        index = view.kinds.index(kind)
        match direction:
            case "up":
                kind = view.kinds[max(0, index - 1)]
            case "down":
                kind = view.kinds[min(len(view.kinds) - 1, index + 1)]
            case "right":
                time = min(time + self.strip.grid, view.bars[-1] - self.strip.grid)
            case _:
                time = max(time - self.strip.grid, view.bars[0])
        self.at = (kind, time)
        self._draw()
        return True

    def _draw(self, *_: object) -> None:
        self._ring.clear()
        strip = self.strip
        if not strip.focused:
            return
        kind, time = self.place
        x, row = strip.place(time)
        radius = strip.radius
        centre = (x + radius + dp(2), strip.lane_y(kind, row))
        self._ring.add(paint(strip.look.theme.focus))
        self._ring.add(SmoothLine(circle=(*centre, radius + dp(7)), width=dp(2)))
