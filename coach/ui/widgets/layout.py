"""Columns, rows that flow, and cards: all grow with what is in them."""

from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.stacklayout import StackLayout
from kivy.uix.widget import Widget

from coach.ui.drawing import backdrop
from coach.ui.theme import SPACE_DP, Look


class Column(BoxLayout):
    """Widgets one under the other, as high as they need."""

    def __init__(self, *children: Widget, gap: float = 2, **options: object) -> None:
        options.setdefault("size_hint_y", None)
        super().__init__(orientation="vertical", spacing=dp(gap * SPACE_DP), **options)
        self.bind(minimum_height=self.setter("height"))
        self.add(*children)

    def add(self, *children: Widget) -> None:
        """Add widgets at the end."""
        for child in children:
            self.add_widget(child)


class Row(BoxLayout):
    """Widgets side by side, as high as the highest; they share the width by their ``size_hint_x``."""

    def __init__(self, *children: Widget, gap: float = 2, **options: object) -> None:
        options.setdefault("size_hint_y", None)
        super().__init__(spacing=dp(gap * SPACE_DP), **options)
        self.bind(minimum_height=self.setter("height"))
        for child in children:
            self.add_widget(child)


class Flow(StackLayout):
    """Widgets side by side that go on in the next line where the width ends; none is wider than that."""

    def __init__(self, *children: Widget, gap: float = 1.5, **options: object) -> None:
        super().__init__(size_hint_y=None, height=0, spacing=dp(gap * SPACE_DP), **options)
        self.bind(minimum_height=self.setter("height"), width=self._bound, children=self._bound)
        for child in children:
            self.add_widget(child)

    def _bound(self, *_: object) -> None:
        for child in self.children:
            if getattr(child, "natural", False):
                child.width = min(child.natural_width, self.width)


class Card(Column):
    """A column on a ground of its own."""

    def __init__(self, look: Look, *children: Widget, gap: float = 1.5, raised: bool = False) -> None:
        super().__init__(*children, gap=gap, padding=dp(2.5 * SPACE_DP))
        backdrop(self, look.theme.raised if raised else look.theme.surface, radius_dp=18)


def space(height_dp: float) -> Widget:
    """Air of a given height."""
    return Widget(size_hint_y=None, height=dp(height_dp))


def stretch() -> Widget:
    """Air that takes what is left."""
    return Widget()
