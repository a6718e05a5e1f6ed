"""A line of text to be typed."""

from collections.abc import Callable

from kivy.metrics import dp
from kivy.uix.textinput import TextInput

from coach.ui.drawing import draw_focus, rgba, type_px
from coach.ui.theme import BODY_SP, TARGET_DP, Look
from coach.ui.widgets.layout import Column
from coach.ui.widgets.text import quiet


class Entry(TextInput):
    """The field itself; Enter ends it."""


class Field(Column):
    """What is asked, and the line to type it into.

    Parameters
    ----------
    asked
        The words above the field.
    typed
        Called with the text after each change.
    ended
        Called with the text on Enter.
    """

    def __init__(
        self,
        look: Look,
        asked: str,
        text: str = "",
        *,
        typed: Callable[[str], None] | None = None,
        ended: Callable[[str], None] | None = None,
    ) -> None:
        px, theme = type_px(look, BODY_SP), look.theme
        high = max(dp(TARGET_DP), px * 1.4 + dp(28))
        self.entry = Entry(
            text=text, multiline=False, font_size=px, size_hint_y=None, height=high, write_tab=False,
            padding=[dp(16), (high - px * 1.2) / 2], background_normal="", background_active="",
            background_color=rgba(theme.raised), foreground_color=rgba(theme.text),
            cursor_color=rgba(theme.focus), selection_color=rgba(theme.action, 0.35),
        )  # fmt: skip
        super().__init__(quiet(look, asked), self.entry, gap=0.75)
        self.entry.create_property("focused", False)
        self.entry.bind(focus=self.entry.setter("focused"))
        draw_focus(self.entry, look, radius_dp=8)
        if typed is not None:
            self.entry.bind(text=lambda _entry, said: typed(said))
        if ended is not None:
            self.entry.bind(on_text_validate=lambda entry: ended(entry.text))
