"""Practice days and reminders: seven days, a time, and a file for the calendar."""

from kivy.metrics import dp
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.remind import RemindPresenter, RemindView
from coach.ui.presenters.weekdays import WEEKDAY_OPTIONS
from coach.ui.theme import SENTENCE_SP
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Card, Column, Flow, Row
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title
from coach.ui.widgets.toggles import Toggles

TIME_DP = 104


class RemindPage(Page):
    """Drawn once; days and time change in place."""

    presenter: RemindPresenter

    def __init__(self, context: ScreenContext, presenter: RemindPresenter) -> None:
        self._days: Toggles | None = None
        self._counted: Words | None = None
        self._time: Words | None = None
        self._told: Words | None = None
        super().__init__(context, presenter)

    @override
    def draw(self, value: RemindView) -> None:
        look, presenter = self.look, self.presenter
        chosen = [str(day) for day in value.days]
        self._days = Toggles(look, WEEKDAY_OPTIONS, chosen, presenter.toggle)
        self._counted, self._told = quiet(look), Words(look)
        self._time = at = Words(look, size_sp=SENTENCE_SP, bold=True, align="center")
        at.size_hint_x, at.width, at.pos_hint = None, dp(TIME_DP) * look.text_scale, {"center_y": 0.5}
        earlier = Press(look, "15 min earlier", lambda: presenter.step(-1))
        later = Press(look, "15 min later", lambda: presenter.step(1))
        field = Field(look, "Or type it, such as 18:30", ended=presenter.type_time)
        self.put(sentence(look, "On which days do you mean to practise?"))
        self.put(self._told, Column(self._days, self._counted, gap=1))
        steps = Row(earlier, at, later, gap=1.5, size_hint_x=None)
        steps.bind(minimum_width=steps.setter("width"))
        self.put(Card(look, title(look, "When to remind you"), Flow(steps), field))
        self.action, self.second = "Write the calendar file", "Back"
        self._follow(value)

    @override
    def keeps(self, value: RemindView) -> bool:
        if self._days is None or not any(each is self._days for each in self.body.walk(restrict=True)):
            return False
        self._follow(value)
        return True

    @override
    def act_second(self) -> None:
        self.presenter.back()

    def _follow(self, value: RemindView) -> None:
        look = self.look
        if self._days is None or self._counted is None or self._time is None or self._told is None:
            return
        self._days.choose([str(day) for day in value.days])
        self._counted.said, self._time.said, self._told.said = value.days_said, value.at, value.said
        self._told.tint(look.theme.good if value.good else look.theme.caution)
        if value.said:
            self.scroll.scroll_y = 1


def build(context: ScreenContext) -> Page:
    """Days and time as the settings have them; ``back`` is the screen that led here."""
    back = context.about.get("back", "log")
    return RemindPage(
        context, RemindPresenter(context.services, context.later, context.jobs, context.go, back)
    )
