"""Rows to choose from, one under the other: a sign, words, and a quiet word at the end."""

from collections.abc import Callable

from kivy.metrics import dp
from kivy.properties import BooleanProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from coach.ui.drawing import backdrop, draw_focus
from coach.ui.theme import TARGET_DP, Look
from coach.ui.widgets.text import Words, quiet

END_DP = 96


class PressRow(ButtonBehavior, BoxLayout):
    """A row as high as its words need, a target as a whole.

    Parameters
    ----------
    sign
        Drawn before the words.
    end
        A quiet word at the end, such as a size.
    """

    focused = BooleanProperty(False)

    def __init__(
        self, look: Look, said: str, pressed: Callable[[], None], *, sign: Widget, end: str = ""
    ) -> None:
        super().__init__(size_hint_y=None, height=dp(TARGET_DP), spacing=dp(16), padding=[dp(16), dp(8)])
        self.look, self.said, self.pressed = look, said, pressed
        backdrop(self, look.theme.surface, radius_dp=14)
        words = Words(look, said)
        words.pos_hint = {"center_y": 0.5}
        words.bind(height=lambda _words, height: setattr(self, "height", max(dp(TARGET_DP), height + dp(24))))
        self.add_widget(sign)
        self.add_widget(words)
        if end:
            last = quiet(look, end)
            last.size_hint_x, last.width, last.halign = None, dp(END_DP) * look.text_scale, "right"
            last.pos_hint = {"center_y": 0.5}
            self.add_widget(last)
        draw_focus(self, look)

    def on_release(self) -> None:
        """Choose it."""
        self.pressed()

    def press_by_key(self) -> None:
        """Choose it by key."""
        self.pressed()
