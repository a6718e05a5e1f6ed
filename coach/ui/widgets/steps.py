"""How far a set is: a row of small marks."""

from kivy.graphics import InstructionGroup
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import note_shape
from coach.ui.theme import Look


class StepMarks(Widget):
    """One mark a step: full for those before, ringed for this one, small for those to come."""

    def __init__(self, look: Look, number: int, count: int) -> None:
        super().__init__(size_hint_y=None, height=dp(24))
        self.look, self.number, self.count = look, number, count
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw)

    def _draw(self, *_: object) -> None:
        group, theme = self._drawn, self.look.theme
        group.clear()
        step = min(dp(28), self.width / max(1, self.count))
        for index in range(self.count):
            at = (self.x + (index + 0.5) * step, self.center_y)
            if index + 1 < self.number:
                note_shape(group, LineKind.MELODY, at, dp(6), colour=theme.action)
            elif index + 1 == self.number:
                note_shape(group, LineKind.MELODY, at, dp(8), colour=theme.text, filled=False, width=2.4)
            else:
                note_shape(group, LineKind.MELODY, at, dp(4), colour=theme.outline)
