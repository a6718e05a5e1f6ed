"""What a screen shows when it has nothing to show: a sentence, and what to do."""

from kivy.graphics import InstructionGroup, RoundedRectangle, SmoothLine
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import note_shape, paint, write
from coach.ui.theme import SPACE_DP, Look
from coach.ui.widgets.layout import Column, space, stretch
from coach.ui.widgets.text import Words, quiet, sentence


class Emblem(Widget):
    """Circle over square, our own sign; with a stroke for something missing, “!” for something gone wrong."""

    def __init__(self, look: Look, mark: str = "empty") -> None:
        super().__init__(size_hint=(None, None), size=(dp(72), dp(72)))
        self.look, self.mark = look, mark
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw)

    def _draw(self, *_: object) -> None:
        self._drawn.clear()
        theme, filled = self.look.theme, self.mark == "empty"
        for kind, x, y, colour in (
            (LineKind.MELODY, 0.68, 0.7, theme.melody), (LineKind.BASS, 0.32, 0.3, theme.bass),
        ):  # fmt: skip
            at = (self.x + x * self.width, self.y + y * self.height)
            note_shape(self._drawn, kind, at, dp(16), colour=colour, filled=filled)
        if self.mark == "missing":
            self._drawn.add(paint(theme.caution))
            self._drawn.add(
                SmoothLine(
                    points=[self.x + dp(6), self.top - dp(6), self.right - dp(6), self.y + dp(6)], width=dp(2)
                )
            )
        if self.mark == "failed":
            write(
                self._drawn,
                "!",
                (self.x + dp(16), self.top - dp(18)),
                px=dp(36),
                colour=theme.wrong,
                bold=True,
            )


class Notice(Column):
    """A sign, a sentence, what to do."""

    def __init__(self, look: Look, said: str, do: str = "", *, mark: str = "empty") -> None:
        super().__init__(gap=2)
        self.add(space(2 * SPACE_DP), Emblem(look, mark), sentence(look, said))
        if do:
            self.add(quiet(look, do))


class JobBar(Widget):
    """How far a job is, 0 to 1; ``None`` is drawn as a bar without an end."""

    def __init__(self, look: Look, share: float | None) -> None:
        super().__init__(size_hint_y=None, height=dp(16))
        self.share = share
        theme = look.theme
        self._track, self._fill = (RoundedRectangle(radius=[dp(8)], segments=8) for _ in range(2))
        for instruction in (paint(theme.raised), self._track, paint(theme.action), self._fill):
            self.canvas.add(instruction)
        self.bind(pos=self._lay, size=self._lay)

    def _lay(self, *_: object) -> None:
        self._track.pos, self._track.size = self.pos, self.size
        share = 0.0 if self.share is None else min(1.0, max(0.0, self.share))
        self._fill.pos, self._fill.size = self.pos, (max(self.height, self.width * share), self.height)


def working(look: Look, what: str, share: float | None) -> Column:
    """The state “working”: what is being done and how far it is."""
    words = "This can take a moment." if share is None else f"{share:.0%} done"
    told = Words(look, words, colour=look.theme.quiet)
    return Column(space(2 * SPACE_DP), sentence(look, what), JobBar(look, share), told, stretch())
