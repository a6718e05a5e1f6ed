"""How far off a string is, as a shape: a bead on a string, and the place where it belongs."""

from math import copysign

from kivy.graphics import Ellipse, InstructionGroup, Rectangle, RoundedRectangle, SmoothLine
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.ui.drawing import paint, rgba, type_px, write
from coach.ui.theme import MARK_SP, Look

MOST_CENTS = 100.0
"""The ends of the string: one fret off."""
GATE_CENTS = 5.0


def along(cents: float) -> float:
    """Where a deviation lies, -1 (a fret low) to 1; the middle is drawn wider, where turning is fine."""
    return copysign((min(abs(cents), MOST_CENTS) / MOST_CENTS) ** 0.5, cents)


_LEAST_DP, _MOST_DP = 108, 260
"""It fills what height there is between these, so that it is read at arm's length."""


class Dial(Widget):
    """A bead that moves along a string; it is full once it is steady and in place.

    Parameters
    ----------
    least_dp
        Height below which the page scrolls instead.
    """

    def __init__(self, look: Look, *, least_dp: float = _LEAST_DP) -> None:
        least = dp(least_dp) * max(1.0, 0.6 + 0.4 * look.text_scale)
        super().__init__(size_hint_min_y=least, height=least)
        self.look = look
        self.cents: float | None = None
        theme = look.theme
        self._still, self._bead_colour = InstructionGroup(), paint(theme.voice)
        self._bead, self._ring = Ellipse(), SmoothLine(width=dp(2))
        self.canvas.add(self._still)
        for instruction in (self._bead_colour, self._bead, paint(theme.text), self._ring):
            self.canvas.add(instruction)
        self._good = self._steady = False
        self.bind(pos=self._draw, size=self._draw)

    def show(self, cents: float | None, *, good: bool, steady: bool) -> None:
        """Move the bead; ``None`` takes it away."""
        self.cents, self._good, self._steady = cents, good, steady
        self._place()

    def _x(self, cents: float) -> float:
        return float(self.center_x + along(cents) * (self.width / 2 - dp(8) - self._radius))

    @property
    def _unit(self) -> float:
        """What is drawn is this high."""
        return float(min(self.height, dp(_MOST_DP)))

    @property
    def _half(self) -> float:
        return 0.27 * self._unit

    @property
    def _radius(self) -> float:
        """The bead is no wider than the place where it belongs."""
        return float(min(0.65 * self._half, 0.4 * along(GATE_CENTS) * self.width))

    @property
    def _y(self) -> float:
        return float(self.center_y + 0.12 * self._unit)

    def _draw(self, *_: object) -> None:
        group, theme = self._still, self.look.theme
        group.clear()
        y, half = self._y, self._half
        left, right = self._x(-GATE_CENTS), self._x(GATE_CENTS)
        group.add(paint(theme.good, 0.25))
        group.add(RoundedRectangle(pos=(left, y - half), size=(right - left, 2 * half), radius=[dp(14)]))
        group.add(paint(theme.good))
        group.add(
            SmoothLine(rounded_rectangle=(left, y - half, right - left, 2 * half, dp(14)), width=dp(1.4))
        )
        group.add(paint(theme.outline))
        group.add(Rectangle(pos=(self.x + dp(8), y - dp(1)), size=(self.width - dp(16), dp(2))))
        px, under = type_px(self.look, MARK_SP), y - half - dp(4)
        at_left, at_right = (self.x + dp(8), under), (self.right - dp(8), under)
        write(group, "too low: tighten", at_left, px=px, colour=theme.quiet, anchor=(0, 1))
        write(group, "too high: loosen", at_right, px=px, colour=theme.quiet, anchor=(1, 1))
        self._place()

    def _place(self) -> None:
        if self.cents is None:
            self._bead.size, self._ring.points = (0, 0), []
            return
        r, theme = self._radius, self.look.theme
        x, y = self._x(self.cents), self._y
        self._bead_colour.rgba = rgba(
            theme.good if self._good else theme.voice if self._steady else theme.raised
        )
        self._bead.pos, self._bead.size = (x - r, y - r), (2 * r, 2 * r)
        self._ring.circle = (x, y, r)
