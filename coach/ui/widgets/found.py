"""The notes of a short tune as circles: found ones named, the one looked for ringed."""

from collections.abc import Sequence

from kivy.graphics import InstructionGroup, SmoothLine
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import note_shape, paint, type_px, write
from coach.ui.theme import SENTENCE_SP, Look


class FoundNotes(Widget):
    """A row of melody notes."""

    def __init__(self, look: Look, names: Sequence[str | None], looking: int | None) -> None:
        super().__init__(size_hint_y=None, height=dp(120) * max(1.0, 0.6 + 0.4 * look.text_scale))
        self.look, self.names, self.looking = look, tuple(names), looking
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw)

    def show(self, names: Sequence[str | None], looking: int | None) -> None:
        """Show other notes."""
        self.names, self.looking = tuple(names), looking
        self._draw()

    def _draw(self, *_: object) -> None:
        group, theme = self._drawn, self.look.theme
        group.clear()
        r = self.height * 0.4
        step = min(2.8 * r, self.width / max(1, len(self.names)))
        px = type_px(self.look, SENTENCE_SP)
        for index, name in enumerate(self.names):
            at = (self.x + (index + 0.5) * step, self.center_y)
            if name is not None:
                note_shape(group, LineKind.MELODY, at, r, colour=theme.melody)
                write(group, name, at, px=px, colour=theme.on_melody, bold=True)
                continue
            here = index == self.looking
            colour = theme.melody if here else theme.outline
            note_shape(group, LineKind.MELODY, at, r, colour=colour, filled=False, width=3.4 if here else 1.6)
            write(group, "?" if here else "", at, px=px, colour=theme.melody, bold=True)
            if here:
                group.add(paint(theme.melody, 0.35))
                group.add(SmoothLine(circle=(*at, r + dp(7)), width=dp(1.4)))
