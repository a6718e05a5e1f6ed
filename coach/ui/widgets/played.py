"""Bars as they were played: circle and square left or right of the beat they are written on."""

from collections.abc import Sequence

from kivy.graphics import InstructionGroup, Line, Rectangle
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.pieces.played import Result
from coach.ui.drawing import fill_round, note_shape, paint, write
from coach.ui.presenters.played import PlayedBar, PlayedMark
from coach.ui.theme import Look
from coach.ui.widgets.layout import Card
from coach.ui.widgets.text import Words, title

LANE_DP = 34
RADIUS_DP = 11
ROOM_BEATS = 0.6
"""Free room before the first beat and after the last, for what came early or late."""
_SIGNS = {Result.WRONG: "×", Result.MISSING: "?"}
"""A note that did not sound as written is hollow and carries a sign: never colour alone."""


class PlayedBarView(Widget):
    """The drawing of one bar."""

    def __init__(self, look: Look, bar: PlayedBar) -> None:
        super().__init__(size_hint_y=None, height=dp(2 * LANE_DP + 16))
        self.look, self.bar = look, bar
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw)

    def place(self, beats: float) -> float:
        """X of a moment in beats from the start of the bar."""
        return float(self.x + self.width * (beats + ROOM_BEATS) / (self.bar.beats + 2 * ROOM_BEATS))

    def _draw(self, *_: object) -> None:
        group, theme = self._drawn, self.look.theme
        group.clear()
        group.add(paint(theme.ground))
        fill_round(group, self.pos, self.size, dp(10))
        group.add(paint(theme.outline))
        for beat in range(self.bar.beats + 1):
            x = self.place(beat)
            group.add(
                Line(points=[x, self.y + dp(6), x, self.top - dp(6)], width=dp(1.0 if beat == 0 else 0.6))
            )
        for mark in self.bar.marks:
            self._mark(mark)

    def _mark(self, mark: PlayedMark) -> None:
        group, theme, radius = self._drawn, self.look.theme, float(dp(RADIUS_DP))
        melody = mark.kind is LineKind.MELODY
        colour = theme.melody if melody else theme.bass
        y = self.y + dp(8) + dp(LANE_DP) * (1.5 if melody else 0.5)
        written, x = self.place(mark.at), self.place(mark.at + mark.off)
        if mark.result in {Result.EARLY, Result.LATE}:
            left, right = sorted((written, x))
            group.add(paint(theme.caution))
            group.add(Rectangle(pos=(left, y - dp(1.5)), size=(right - left, dp(3))))
        sign = _SIGNS.get(mark.result)
        if sign is None:
            note_shape(group, mark.kind, (x, y), radius, colour=colour)
        else:
            note_shape(group, mark.kind, (x, y), radius, colour=colour, filled=False)
            write(group, sign, (x, y), px=dp(15), colour=theme.text, bold=True)


class PlayedBars(Card):
    """All bars, each with its sentence; the hardest one first in line next time."""

    def __init__(self, look: Look, said: str, bars: Sequence[PlayedBar]) -> None:
        self.bars = [PlayedBarView(look, bar) for bar in bars]
        rows: list[Widget] = [title(look, said)]
        for view in self.bars:
            rows += [Words(look, view.bar.words, bold=view.bar.hardest), view]
        super().__init__(look, *rows)
