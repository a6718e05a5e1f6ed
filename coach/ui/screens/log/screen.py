"""The log: days as beads, minutes a week, ear skills, and every event."""

from kivy.metrics import dp
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.log import EventLine, LogPresenter, LogView
from coach.ui.presenters.view import PageView, Working
from coach.ui.theme import MARK_SP
from coach.ui.widgets.buttons import Choice, Press
from coach.ui.widgets.charts import BarChart, DayMarks, PaceLine, SkillGrid
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Card, Column, Flow, Row
from coach.ui.widgets.line_map import TwoLineMap
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title

KEEP_SAFE = "Keep it safe"


class LogPage(Page):
    """Drawn once; a search changes only the list."""

    presenter: LogPresenter

    def __init__(self, context: ScreenContext, presenter: LogPresenter) -> None:
        self._list: Column | None = None
        self._count: Words | None = None
        self._said = ""
        super().__init__(context, presenter)

    @override
    def draw(self, value: LogView) -> None:
        look = self.look
        self.put(sentence(look, value.sentence))
        if value.said:
            self.put(Words(look, value.said, colour=look.theme.good))
        if value.safe:
            self.put(quiet(look, value.safe))
        days = Flow(Press(look, "Practice days and reminders", self.presenter.plan_days))
        self.put(Card(look, title(look, "Days"), DayMarks(look, value.weeks), days))
        chart = BarChart(look, value.week_words, value.week_minutes, goal=value.goal_minutes)
        self.put(Card(look, title(look, "Minutes a week"), chart))
        if value.map.columns:
            self.put(Column(title(look, "The piece"), TwoLineMap(look, value.map), gap=1.5))
        if value.pace is not None:
            self.put(Card(look, title(look, "How the piece goes"), PaceLine(look, value.pace)))
        if value.skills:
            self.put(Column(title(look, "The ear"), SkillGrid(look, value.skills), gap=1.5))
        if value.has_take:
            self.put(self._going_along())
        self._count, self._list = quiet(look), Column(gap=0.75)
        field = Field(look, "Search everything that was practised", typed=self.presenter.search)
        self.put(Column(title(look, "Everything"), field, self._count, self._list, gap=1.5))
        self.action = "Share with teacher"
        self._said = value.said
        self._follow(value)

    @override
    def show(self, view: PageView[LogView]) -> None:
        super().show(view)
        # A new device has an empty log, and a damaged one cannot be read: there a back-up is wanted most.
        self.second = "" if isinstance(view, Working) else KEEP_SAFE

    @override
    def act_second(self) -> None:
        self.presenter.keep_safe()

    @override
    def keeps(self, value: LogView) -> bool:
        if (
            self._list is None
            or value.said != self._said
            or not any(each is self._list for each in self.body.walk(restrict=True))
        ):
            return False
        self._follow(value)
        return True

    def _follow(self, value: LogView) -> None:
        if self._list is None or self._count is None:
            return
        shown = "" if value.found == len(value.events) else f", the last {len(value.events)} shown"
        self._count.said = ("1 entry" if value.found == 1 else f"{value.found} entries") + shown
        self._list.clear_widgets()
        self._list.add(*(self._row(line) for line in value.events))

    def _going_along(self) -> Card:
        look = self.look
        options = [("no", "the report alone"), ("yes", "the report and my last take")]
        tick = Choice(look, options, "no", self.presenter.tick)
        words = quiet(look, "A take leaves this device only when you choose it here, each time anew.")
        return Card(look, title(look, "What goes to your teacher"), tick, words)

    def _row(self, line: EventLine) -> Row:
        when = Words(self.look, line.when, size_sp=MARK_SP, colour=self.look.theme.quiet)
        when.size_hint_x, when.width = None, dp(120) * self.look.text_scale
        what = Words(self.look, line.what)
        for part in (when, what):
            part.pos_hint = {"top": 1}
        return Row(when, what, gap=1)


def build(context: ScreenContext) -> Page:
    """The log as it stands."""
    return LogPage(context, LogPresenter(context.room, context.later, context.jobs, context.go))
