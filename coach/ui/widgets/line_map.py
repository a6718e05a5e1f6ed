"""The two-line map, the signature drawing: one column a section, circles over squares over “played”."""

from collections.abc import Callable

from kivy.graphics import InstructionGroup, SmoothLine
from kivy.metrics import dp
from kivy.properties import BooleanProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.practice.piece_state import Cell
from coach.ui.drawing import fill_round, note_shape, paint, tick, type_px, width_of, write
from coach.ui.presenters.map_view import MapColumn, MapView
from coach.ui.theme import BODY_SP, MARK_SP, Look
from coach.ui.widgets.layout import Flow

ROWS = ("tune", "bass", "played")
COLUMN_DP = 88
ROW_DP = 52


def row_height(look: Look) -> float:
    """Height of one row in pixels."""
    return float(dp(ROW_DP)) * max(1.0, 0.6 + 0.4 * look.text_scale)


class _Heads(Widget):
    """The words at the left of the rows, each beside its shape."""

    def __init__(self, look: Look) -> None:
        px = type_px(look, MARK_SP)
        wide = max(width_of(word, px) for word in ROWS) + dp(12)
        row = row_height(look)
        super().__init__(size_hint=(None, None), size=(wide, 3 * row + row))
        self.look, self.row, self.px = look, row, px
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw)
        self._draw()

    def _draw(self, *_: object) -> None:
        self._drawn.clear()
        for index, word in enumerate(ROWS):
            y = self.top - self.row - (index + 0.5) * self.row
            write(self._drawn, word, (self.x, y), px=self.px, colour=self.look.theme.quiet, anchor=(0, 0.5))


class MapColumnView(ButtonBehavior, Widget):
    """One section of the map; may be tapped."""

    focused = BooleanProperty(False)

    def __init__(self, look: Look, column: MapColumn, pressed: Callable[[], None] | None) -> None:
        row = row_height(look)
        wide = dp(COLUMN_DP)
        super().__init__(size_hint=(None, None), size=(wide, 4 * row))
        self.look, self.column, self.pressed, self.row = look, column, pressed, row
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw, focused=self._draw)
        self._draw()
        if pressed is not None:
            self.press_by_key = pressed

    def on_release(self) -> None:
        """Open the section."""
        if self.pressed is not None:
            self.pressed()

    def _draw(self, *_: object) -> None:
        group, theme, column = self._drawn, self.look.theme, self.column
        group.clear()
        group.add(paint(theme.raised if column.following else theme.surface))
        fill_round(group, self.pos, self.size, dp(14))
        if column.following or self.focused:
            group.add(paint(theme.focus if self.focused else theme.action))
            group.add(
                SmoothLine(rounded_rectangle=(self.x, self.y, self.width, self.height, dp(14)), width=dp(1.6))
            )
        write(
            group, column.name, (self.center_x, self.top - self.row / 2), px=type_px(self.look, BODY_SP),
            colour=theme.text, bold=True,
        )  # fmt: skip
        r = self.row * 0.36
        for index, cell in enumerate((column.melody, column.bass, column.played)):
            self._cell(index, cell, (self.center_x, self.top - self.row - (index + 0.5) * self.row), r)

    def _cell(self, index: int, cell: Cell, centre: tuple[float, float], r: float) -> None:
        group, theme = self._drawn, self.look.theme
        colour = (theme.melody, theme.bass, theme.good)[index]
        ink = (theme.on_melody, theme.on_bass, theme.ground)[index]
        if index < 2:
            kind = LineKind.MELODY if index == 0 else LineKind.BASS
            if cell is Cell.EMPTY:
                note_shape(
                    group, kind, centre, r * 0.62, colour=theme.outline, filled=False, width=1.2, alpha=0.7
                )
                return
            note_shape(group, kind, centre, r, colour=colour, filled=cell is Cell.SETTLED, width=3.4)
        elif cell is not Cell.SETTLED:
            x, y = centre
            group.add(
                paint(theme.outline if cell is Cell.EMPTY else colour, 0.7 if cell is Cell.EMPTY else 1.0)
            )
            thick = dp(1.2) if cell is Cell.EMPTY else dp(3)
            group.add(SmoothLine(points=[x - r * 0.7, y, x + r * 0.7, y], width=thick, cap="round"))
            return
        else:
            x, y = centre
            group.add(paint(colour))
            fill_round(group, (x - r * 1.3, y - r * 0.72), (r * 2.6, r * 1.44), r * 0.72)
        if cell is Cell.SETTLED:
            tick(group, centre, r * 0.62, ink)


class TwoLineMap(BoxLayout):
    """The whole map; columns go on in a second line where the width ends.

    Parameters
    ----------
    pressed
        Called with a section's name when its column is tapped; ``None`` makes the map a picture.
    """

    def __init__(self, look: Look, view: MapView, pressed: Callable[[str], None] | None = None) -> None:
        super().__init__(size_hint_y=None, spacing=dp(12))
        self.heads = _Heads(look)
        self.columns = [
            MapColumnView(look, column, self._opening(column.name, pressed)) for column in view.columns
        ]
        self._flow = Flow(*self.columns)
        side = BoxLayout(orientation="vertical", size_hint=(None, 1), width=self.heads.width)
        side.add_widget(self.heads)
        side.add_widget(Widget())
        self.add_widget(side)
        self.add_widget(self._flow)
        self._flow.bind(height=self.setter("height"))
        self.height = self._flow.height

    def _opening(self, name: str, pressed: Callable[[str], None] | None) -> Callable[[], None] | None:
        return None if pressed is None else lambda: pressed(name)
