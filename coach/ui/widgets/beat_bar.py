"""One bar from near: its loudness, and its beats as flags that can be tapped."""

from collections.abc import Callable
from itertools import pairwise

from kivy.clock import Clock
from kivy.graphics import InstructionGroup, Line, Mesh, SmoothLine
from kivy.metrics import dp
from kivy.properties import BooleanProperty
from kivy.uix.widget import Widget

from coach.ui.drawing import draw_focus, fill_round, paint, type_px, write
from coach.ui.presenters.beat_view import BeatBar, BeatHead
from coach.ui.theme import BODY_SP, Look
from coach.ui.widgets.touch import Touch, travelled

HEIGHT_DP, FLAG_DP = 150, 48
EDGE_DP = 24


class BeatBarView(Widget):
    """The chosen bar and half a beat around it.

    Parameters
    ----------
    choose
        Called with a beat's index when it is tapped.
    """

    focused = BooleanProperty(False)

    def __init__(self, look: Look, bar: BeatBar, choose: Callable[[int], None]) -> None:
        scale = max(1.0, 0.5 + 0.5 * look.text_scale)
        super().__init__(size_hint_y=None, height=dp(HEIGHT_DP) * scale)
        self.look, self.bar, self.choose, self.flag = look, bar, choose, dp(FLAG_DP) * scale
        self._drawn, self._cursor = InstructionGroup(), SmoothLine(width=dp(1.6))
        self.canvas.add(self._drawn)
        self.canvas.add(paint(look.theme.focus))
        self.canvas.add(self._cursor)
        self._draw = Clock.create_trigger(self._draw_now, -1)
        self.bind(pos=self._draw, size=self._draw)
        draw_focus(self, look)

    def show(self, bar: BeatBar) -> None:
        """Show another bar, or the same with its beats elsewhere."""
        self.bar = bar
        self._draw()

    def cursor(self, at_s: float | None) -> None:
        """Show where it sounds now, in seconds of the recording."""
        bar = self.bar
        points: list[float] = []
        if at_s is not None and bar.from_s <= at_s < bar.to_s:
            x = self.x_of((at_s - bar.from_s) / (bar.to_s - bar.from_s))
            points = [x, self.y + dp(6), x, self.top - self.flag - dp(8)]
        if points != self._cursor.points:  # setting them draws the whole window again
            self._cursor.points = points

    def press_by_key(self) -> None:
        """Hear nothing, change nothing: the arrows choose."""

    def arrow_by_key(self, direction: str) -> bool:
        """Left and right go along the beats."""
        if direction not in {"left", "right"}:
            return False
        self.choose(self.bar.chosen + (1 if direction == "right" else -1))
        return True

    def x_of(self, share: float) -> float:
        """Where a share of the stretch lies."""
        return float(self.x + dp(EDGE_DP) + share * (self.width - 2 * dp(EDGE_DP)))

    # --- drawing ------------------------------------------------------------------------------------------

    def _draw_now(self, *_: object) -> None:
        group = self._drawn
        group.clear()
        group.add(paint(self.look.theme.surface))
        fill_round(group, self.pos, self.size, dp(14))
        self._shape()
        for head in self.bar.heads:
            self._head(head)

    def _shape(self) -> None:
        values = self.bar.loudness
        if len(values) < 2:
            return
        low, high = self.y + dp(8), self.top - self.flag - dp(12)
        middle, reach = (low + high) / 2, (high - low) / 2
        vertices: list[float] = []
        for index, value in enumerate(values):
            x, half = self.x_of(index / (len(values) - 1)), max(dp(1), reach * min(1.0, value))
            vertices += [x, middle + half, 0, 0, x, middle - half, 0, 0]
        self._drawn.add(paint(self.look.theme.outline))
        self._drawn.add(Mesh(vertices=vertices, indices=list(range(2 * len(values))), mode="triangle_strip"))

    def _head(self, head: BeatHead) -> None:
        group, theme = self._drawn, self.look.theme
        chosen, x = head.index == self.bar.chosen, self.x_of(head.share)
        top, low = self.top - dp(4), self.top - dp(4) - self.flag
        group.add(paint(theme.action if chosen else theme.text))
        group.add(Line(points=[x, self.y + dp(6), x, low], width=dp(2.2 if chosen else 1.1)))
        half = self._half
        group.add(paint(theme.action if chosen else theme.raised))
        fill_round(group, (x - half, low), (2 * half, top - low), dp(10))
        if not chosen:
            group.add(paint(theme.outline))
            group.add(SmoothLine(rounded_rectangle=(x - half, low, 2 * half, top - low, dp(10)), width=dp(1)))
        word = "ONE" if head.number == 1 else str(head.number)
        ink = theme.on_action if chosen else theme.text
        px = min(type_px(self.look, BODY_SP), half * (0.8 if len(word) > 1 else 1.4))
        write(group, word, (x, (low + top) / 2), px=px, colour=ink, bold=True)

    @property
    def _half(self) -> float:
        """Half the width of a flag: narrower where beats lie close together."""
        shares = [head.share for head in self.bar.heads]
        gaps = [b - a for a, b in pairwise(shares)]
        room = min(gaps, default=1.0) * (self.width - 2 * dp(EDGE_DP)) / 2 - dp(2)
        return float(max(dp(10), min(self.flag * 0.6, room)))

    # --- hands --------------------------------------------------------------------------------------------

    def on_touch_down(self, touch: Touch) -> bool:
        """Wait for the end of a tap."""
        if not self.collide_point(*touch.pos) or touch.is_mouse_scrolling:
            return bool(super().on_touch_down(touch))
        touch.grab(self)
        return True

    def on_touch_up(self, touch: Touch) -> bool:
        """A tap means the nearest beat."""
        if touch.grab_current is not self:
            return bool(super().on_touch_up(touch))
        touch.ungrab(self)
        if travelled(touch) < dp(16) and self.bar.heads:
            self.choose(min(self.bar.heads, key=lambda head: abs(self.x_of(head.share) - touch.x)).index)
        return True
