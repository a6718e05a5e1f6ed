"""Bar tiles: one tile a bar with its loudness shape and its beats; the loop goes from tile to tile."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from fractions import Fraction

from kivy.graphics import InstructionGroup, Line, Mesh, Rectangle, SmoothLine
from kivy.metrics import dp
from kivy.properties import BooleanProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.widget import Widget

from coach.ui.drawing import fill_round, paint, type_px, write
from coach.ui.presenters.drawn import Loop, Tile
from coach.ui.theme import MARK_SP, Look
from coach.ui.widgets.layout import Flow

TILE_DP = (112, 96)


class TileView(ButtonBehavior, Widget):
    """One bar."""

    focused = BooleanProperty(False)
    inside = BooleanProperty(False)

    def __init__(self, look: Look, tile: Tile, pressed: Callable[[], None]) -> None:
        scale = max(1.0, 0.5 + 0.5 * look.text_scale)
        super().__init__(size_hint=(None, None), size=(dp(TILE_DP[0]) * scale, dp(TILE_DP[1]) * scale))
        self.look, self.tile, self.press_by_key = look, tile, pressed
        self._drawn, self._cursor = InstructionGroup(), SmoothLine(width=dp(1.4))
        self.canvas.add(self._drawn)
        self.canvas.add(paint(look.theme.focus))
        self.canvas.add(self._cursor)
        self.bind(pos=self._draw, size=self._draw, focused=self._draw, inside=self._draw)
        self._draw()

    def on_release(self) -> None:
        """Begin or end the loop here."""
        self.press_by_key()

    def cursor(self, share: float | None) -> None:
        """Show where in the bar it sounds now, 0 to 1; ``None`` takes the cursor away."""
        points: list[float] = []
        if share is not None:
            x = self.x + share * self.width
            points = [x, self.y + dp(4), x, self.top - dp(4)]
        if points != self._cursor.points:  # setting them draws the whole window again
            self._cursor.points = points

    def _draw(self, *_: object) -> None:
        group, theme = self._drawn, self.look.theme
        group.clear()
        group.add(paint(theme.raised if self.inside else theme.surface))
        fill_round(group, self.pos, self.size, dp(12))
        self._shape(group)
        self._ruler(group)
        px = type_px(self.look, MARK_SP)
        at = (self.x + dp(10), self.top - dp(6))
        ink = theme.text if self.inside else theme.quiet
        write(group, self.tile.word, at, px=px, colour=ink, anchor=(0, 1), bold=self.inside)
        if self.tile.section:
            at = (self.right - dp(10), self.top - dp(6))
            write(group, self.tile.section, at, px=px, colour=theme.text, anchor=(1, 1), bold=True)
        if self.inside or self.focused:
            ring = (self.x, self.y, self.width, self.height, dp(12))
            group.add(paint(theme.focus if self.focused else theme.action))
            group.add(SmoothLine(rounded_rectangle=ring, width=dp(1.6)))

    def _shape(self, group: InstructionGroup) -> None:
        """The loudness as one strip of triangles around a middle line."""
        values = self.tile.loudness
        if len(values) < 2:
            return
        left, right = self.x + dp(8), self.right - dp(8)
        middle, reach = self.y + self.height * 0.44, self.height * 0.26
        vertices: list[float] = []
        for index, value in enumerate(values):
            x = left + (right - left) * index / (len(values) - 1)
            half = max(dp(1), reach * min(1.0, max(0.0, value)))
            vertices += [x, middle + half, 0, 0, x, middle - half, 0, 0]
        group.add(paint(self.look.theme.voice if self.inside else self.look.theme.outline))
        group.add(Mesh(vertices=vertices, indices=list(range(2 * len(values))), mode="triangle_strip"))

    def _ruler(self, group: InstructionGroup) -> None:
        left, right, low = self.x + dp(8), self.right - dp(8), self.y + dp(8)
        group.add(paint(self.look.theme.outline))
        group.add(Rectangle(pos=(left, low), size=(right - left, dp(1))))
        for beat in range(self.tile.beats):
            x = left + (right - left) * beat / self.tile.beats
            group.add(Line(points=[x, low, x, low + dp(9 if beat == 0 else 5)], width=dp(0.8)))


def bars_passed(edges: Sequence[float | Fraction], at: float | Fraction | None) -> float | None:
    """A time in bars from the first edge, the edges being where bars begin and end; ``None`` outside."""
    if at is None or len(edges) < 2 or not edges[0] <= at < edges[-1]:
        return None
    bar = bisect_right(edges, at) - 1
    return bar + float((at - edges[bar]) / (edges[bar + 1] - edges[bar]))


class BarTiles(Flow):
    """The bars of a section or piece.

    Parameters
    ----------
    chosen
        Called with the loop after each tap.
    """

    def __init__(
        self, look: Look, tiles: Sequence[Tile], loop: Loop | None, chosen: Callable[[Loop], None]
    ) -> None:
        super().__init__(gap=1)
        self._chosen, self._open_end = chosen, False
        self.tiles = [TileView(look, tile, self._pressing(index)) for index, tile in enumerate(tiles)]
        for tile in self.tiles:
            self.add_widget(tile)
        self.show(loop)

    def show(self, loop: Loop | None) -> None:
        """Mark the tiles of the loop."""
        self.loop = loop
        for index, tile in enumerate(self.tiles):
            tile.inside = loop is not None and loop.first <= index <= loop.last

    def cursor(self, bars: float | None) -> None:
        """Show where it sounds, in bars from the first tile; ``None``: nowhere."""
        for index, tile in enumerate(self.tiles):
            here = bars is not None and index <= bars < index + 1
            tile.cursor(bars - index if bars is not None and here else None)

    def _pressing(self, index: int) -> Callable[[], None]:
        def press() -> None:
            old = self.loop or Loop(index, index)
            loop = old.tapped(index, open_end=self._open_end)
            self._open_end = loop.first == loop.last and not (self._open_end and index == old.first)
            self.show(loop)
            self._chosen(loop)

        return press
