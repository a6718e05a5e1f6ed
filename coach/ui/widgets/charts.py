"""Charts on our own canvas: minutes a week, days as marks, ear skills as a shaded grid."""

from collections.abc import Sequence

from kivy.graphics import InstructionGroup, Rectangle, RoundedRectangle, SmoothLine
from kivy.metrics import dp
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.notation.line import LineKind
from coach.ui.drawing import dashed, fill_round, note_shape, paint, type_px, width_of, write
from coach.ui.presenters.drawn import DayMark, PaceView, SkillCell
from coach.ui.theme import BODY_SP, MARK_SP, Look
from coach.ui.widgets.layout import Column, Flow
from coach.ui.widgets.text import Words


class _Chart(Widget):
    """A widget that is drawn anew when its place changes."""

    def __init__(self, look: Look, *, height_dp: float) -> None:
        scale = max(1.0, 0.5 + 0.5 * look.text_scale)
        super().__init__(size_hint_y=None, height=dp(height_dp) * scale)
        self.look = look
        self.drawn = InstructionGroup()
        self.canvas.add(self.drawn)
        self.bind(pos=self.redraw, size=self.redraw)

    def redraw(self, *_: object) -> None:
        """Draw anew."""
        self.drawn.clear()
        if self.width > 1:
            self.draw(self.drawn)

    def draw(self, group: InstructionGroup) -> None:
        """Add the drawing."""


class BarChart(_Chart):
    """Minutes as bars with their numbers; the goal is a dashed line.

    Parameters
    ----------
    labels, values
        One each; values at least 0.
    """

    def __init__(
        self,
        look: Look,
        labels: Sequence[str],
        values: Sequence[float],
        *,
        goal: float | None = None,
    ) -> None:
        if len(labels) != len(values):
            raise ValueError("every value needs a label")
        super().__init__(look, height_dp=200)
        self.labels, self.values, self.goal = tuple(labels), tuple(values), goal

    @override
    def draw(self, group: InstructionGroup) -> None:
        """Bars from left to right."""
        theme, px = self.look.theme, type_px(self.look, MARK_SP)
        low, high = self.y + px * 1.6, self.top - px * 1.8
        top = max([*self.values, self.goal or 0.0, 1.0])
        step = self.width / max(1, len(self.values))
        every = max(1, round(px * 2.6 / step + 0.5))
        for index, (label, value) in enumerate(zip(self.labels, self.values, strict=True)):
            x, wide = self.x + (index + 0.5) * step, min(step * 0.56, dp(56))
            tall = max(dp(2), (high - low) * value / top)
            full = self.goal is not None and value >= self.goal
            group.add(paint(theme.good if full else theme.outline))
            round_px = min(dp(6), tall / 2, wide / 2)
            corners = [round_px, round_px, 0, 0]
            group.add(RoundedRectangle(pos=(x - wide / 2, low), size=(wide, tall), radius=corners))
            if index % every == (len(self.values) - 1) % every:
                write(group, label, (x, self.y), px=px, colour=theme.quiet, anchor=(0.5, 0))
                if value:
                    write(group, f"{value:.0f}", (x, low + tall), px=px, colour=theme.text, anchor=(0.5, 0))
        if self.goal:
            y = low + (high - low) * self.goal / top
            dashed(group, (self.x, y, self.right, y), theme.quiet, width=dp(1))
            words = f"{self.goal:.0f} min"
            write(group, words, (self.right, y + dp(2)), px=px, colour=theme.quiet, anchor=(1, 0))


class DayMarks(_Chart):
    """Days as beads: one string a week, newest week on top, a bead's size is the day's minutes.

    Parameters
    ----------
    weeks
        Words of each week (such as “24 Nov”) with its seven days, newest first.
    """

    ROW_DP = 44
    MOST_MINUTES = 30.0
    """From here on a bead does not grow."""

    def __init__(self, look: Look, weeks: Sequence[tuple[str, Sequence[DayMark]]]) -> None:
        super().__init__(look, height_dp=self.ROW_DP * (len(weeks) + 0.7))
        self.weeks = tuple(weeks)

    @override
    def draw(self, group: InstructionGroup) -> None:
        """Strings from top to bottom."""
        theme, px = self.look.theme, type_px(self.look, MARK_SP)
        row = self.height / (len(self.weeks) + 0.7)
        left = self.x + max((width_of(word, px) for word, _ in self.weeks), default=0.0) + dp(20)
        step = min((self.right - left) / 7, dp(92))
        for index, head in enumerate("MTWTFSS"):
            at = (left + (index + 0.5) * step, self.top)
            write(group, head, at, px=px, colour=theme.quiet, anchor=(0.5, 1))
        for index, (word, days) in enumerate(self.weeks):
            y = self.top - (0.7 + index + 0.5) * row
            write(group, word, (self.x, y), px=px, colour=theme.quiet, anchor=(0, 0.5))
            group.add(paint(theme.outline, 0.6))
            group.add(Rectangle(pos=(left, y - dp(0.5)), size=(7 * step, dp(1))))
            for column, day in enumerate(days):
                self._bead(group, day, (left + (column + 0.5) * step, y), row)

    def _bead(self, group: InstructionGroup, day: DayMark, at: tuple[float, float], row: float) -> None:
        theme, size = self.look.theme, min(1.0, day.minutes / self.MOST_MINUTES)
        if day.minutes > 0:
            note_shape(group, LineKind.MELODY, at, row * (0.14 + 0.28 * size), colour=theme.good)
        if day.today:
            group.add(paint(theme.focus))
            group.add(SmoothLine(circle=(*at, row * 0.47), width=dp(1)))


class PaceLine(_Chart):
    """How much of the piece is settled, day by day: steps up to a whole piece, the aim, the forecast."""

    def __init__(self, look: Look, view: PaceView) -> None:
        super().__init__(look, height_dp=170)
        self.view = view

    @override
    def draw(self, group: InstructionGroup) -> None:
        """From the day the piece was chosen, at the left, to the last day that matters."""
        theme, px, view = self.look.theme, type_px(self.look, MARK_SP), self.view
        low, high = self.y + px * 1.6, self.top - px * 1.4
        group.add(paint(theme.outline, 0.6))
        for y in (low, high):
            group.add(Rectangle(pos=(self.x, y), size=(self.width, dp(1))))
        write(group, "whole piece", (self.x, high), px=px, colour=theme.quiet, anchor=(0, 0))
        write(group, view.words[0], (self.x, self.y), px=px, colour=theme.quiet, anchor=(0, 0))
        write(group, view.words[1], (self.right, self.y), px=px, colour=theme.quiet, anchor=(1, 0))
        if view.early is not None and view.late is not None:
            left, right = self._x(view.early), self._x(view.late)
            group.add(paint(theme.voice, 0.16))
            group.add(Rectangle(pos=(left, low), size=(max(dp(4), right - left), high - low)))
        if view.aim is not None:
            x = self._x(view.aim)
            dashed(group, (x, low, x, high), theme.focus, width=dp(1.2))
            write(group, "aim", (x - dp(4), high), px=px, colour=theme.text, anchor=(1, 0))
        self._steps(group, low, high)

    def _steps(self, group: InstructionGroup, low: float, high: float) -> None:
        points: list[float] = []
        for day, share in self.view.points:
            y = low + (high - low) * share
            if points:
                points += [self._x(day), points[-1]]
            points += [self._x(day), y]
        group.add(paint(self.look.theme.good))
        if len(points) > 2:
            group.add(SmoothLine(points=points, width=dp(2), joint="miter"))
        note_shape(group, LineKind.MELODY, (points[-2], points[-1]), dp(6), colour=self.look.theme.good)

    def _x(self, day: float) -> float:
        return float(self.x + self.width * day / max(1.0, self.view.days))


class _SkillView(Column):
    def __init__(self, look: Look, cell: SkillCell) -> None:
        super().__init__(
            gap=0.5, size_hint_x=None, width=dp(232) * max(1.0, look.text_scale * 0.9), padding=dp(14)
        )
        self.look, self.cell = look, cell
        self._drawn = InstructionGroup()
        self.canvas.before.add(self._drawn)
        self.add(
            Words(look, cell.name, size_sp=BODY_SP),
            Words(look, cell.word, size_sp=MARK_SP, colour=look.theme.quiet),
        )
        self.bind(pos=self._draw, size=self._draw)

    def _draw(self, *_: object) -> None:
        group, theme = self._drawn, self.look.theme
        group.clear()
        group.add(paint(theme.surface))
        fill_round(group, self.pos, self.size, dp(12))
        group.add(paint(theme.raised))
        group.add(Rectangle(pos=(self.x + dp(14), self.y + dp(6)), size=(self.width - dp(28), dp(5))))
        if self.cell.sure is not None:
            group.add(paint(theme.good))
            width = (self.width - dp(28)) * min(1.0, max(0.0, self.cell.sure))
            group.add(Rectangle(pos=(self.x + dp(14), self.y + dp(6)), size=(width, dp(5))))


class SkillGrid(Flow):
    """Ear skills, each with how sure it is as a bar and in words."""

    def __init__(self, look: Look, cells: Sequence[SkillCell]) -> None:
        super().__init__(*(_SkillView(look, cell) for cell in cells), gap=1.5)
