"""Words: labels that wrap, grow with their text and show every sign."""

from math import ceil

from kivy.properties import StringProperty
from kivy.uix.label import Label

from coach.ui.drawing import marked_up, rgba, type_px
from coach.ui.theme import BODY_SP, NOTE_SP, SENTENCE_SP, TITLE_SP, Look

LINE_HEIGHT = 1.12
LINE = 1.172 * LINE_HEIGHT
"""Height of a line of Roboto, of its type size (from the font's own ascent and descent)."""


class Words(Label):
    """A paragraph as wide as its place and as high as its text.

    Parameters
    ----------
    size_sp
        Type size before the player's text scale.
    colour
        A colour of the theme; its ``text`` by default.
    keeps_line
        Whether it is as high as a line of text while it says nothing, so that what is below stays.
    """

    said = StringProperty("")
    """The text without markup: set this."""

    def __init__(
        self,
        look: Look,
        said: str = "",
        *,
        size_sp: float = BODY_SP,
        colour: str | None = None,
        bold: bool = False,
        align: str = "left",
        keeps_line: bool = False,
    ) -> None:
        super().__init__(
            markup=True,
            font_size=type_px(look, size_sp),
            color=rgba(colour or look.theme.text),
            bold=bold,
            halign=align,
            valign="middle",
            line_height=LINE_HEIGHT,
            size_hint_y=None,
            height=0,
        )
        self.look = look
        self._least = ceil(LINE * self.font_size) if keeps_line else 0
        self.bind(width=self._wrap, texture_size=self._grow)
        self.said = said
        self._wrap()
        self._grow()

    def on_said(self, _widget: object, said: str) -> None:
        """Show the new text."""
        self.text = marked_up(said)

    def tint(self, colour: str) -> None:
        """Change the colour."""
        self.color = rgba(colour)

    def _wrap(self, *_: object) -> None:
        self.text_size = (self.width, None)

    def _grow(self, *_: object) -> None:
        self.height = max(self.texture_size[1] if self.said else 0, self._least)


def sentence(look: Look, said: str = "") -> Words:
    """The sentence that says what to do, 28 sp."""
    return Words(look, said, size_sp=SENTENCE_SP)


def title(look: Look, said: str = "", *, keeps_line: bool = False) -> Words:
    """The head of a card."""
    return Words(look, said, size_sp=TITLE_SP, bold=True, keeps_line=keeps_line)


def quiet(look: Look, said: str = "") -> Words:
    """What is read second."""
    return Words(look, said, colour=look.theme.quiet)


def note_name(look: Look, said: str = "") -> Words:
    """The name of a note, 64 sp."""
    return Words(look, said, size_sp=NOTE_SP, bold=True, align="center")
