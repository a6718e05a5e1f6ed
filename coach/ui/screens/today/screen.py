"""Today: where the piece stands, the map, the steps with their minutes, and the way to begin."""

from collections.abc import Callable

from kivy.clock import Clock, ClockEvent
from kivy.core.window import Window
from kivy.graphics import InstructionGroup, SmoothLine
from kivy.metrics import dp
from kivy.properties import BooleanProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.drawing import backdrop, draw_focus, paint, tick
from coach.ui.presenters.today import TodayDecisions, TodayPresenter
from coach.ui.presenters.today_view import AimOffer, StepView, TodayView, today_source
from coach.ui.theme import BODY_SP, TARGET_DP, Look
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.line_map import TwoLineMap
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title

LOW_WINDOW_DP = 600


class _Mark(Widget):
    """An open ring for a step to come, a full one with a tick for a step done."""

    def __init__(self, look: Look, *, done: bool, following: bool) -> None:
        super().__init__(size_hint=(None, 1), width=dp(32))
        self.look, self.done, self.following = look, done, following
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw)

    def _draw(self, *_: object) -> None:
        group, theme = self._drawn, self.look.theme
        group.clear()
        group.add(paint(theme.good if self.done else theme.action if self.following else theme.outline))
        group.add(SmoothLine(circle=(*self.center, dp(12)), width=dp(2.2 if self.following else 1.4)))
        if self.done:
            tick(group, self.center, dp(10), theme.good)


LOOK_UP_S = 30.0
DONE_WORDS = "That is all for today. Rest hands and ears; tomorrow goes on here."


class StepRow(ButtonBehavior, BoxLayout):
    """One step of the day; may be begun out of turn."""

    focused = BooleanProperty(False)

    def __init__(self, look: Look, step: StepView, presenter: TodayPresenter, *, following: bool) -> None:
        super().__init__(size_hint_y=None, spacing=dp(16), padding=[dp(16), dp(8)])
        theme = look.theme
        self.step, self.presenter, self.look = step, presenter, look
        backdrop(self, theme.raised if following else theme.surface, radius_dp=14)
        words = Words(look, step.title, bold=following, colour=theme.quiet if step.done else theme.text)
        minutes = Words(look, f"{step.minutes} min", size_sp=BODY_SP, colour=theme.quiet, align="right")
        minutes.size_hint_x = None
        minutes.width = dp(84) * look.text_scale
        for part in (words, minutes):
            part.pos_hint = {"center_y": 0.5}
        self.add_widget(_Mark(look, done=step.done, following=following))
        self.add_widget(words)
        self.add_widget(minutes)
        words.bind(height=lambda _label, height: setattr(self, "height", max(dp(TARGET_DP), height + dp(24))))
        self.height = dp(TARGET_DP)
        draw_focus(self, look)

    def on_release(self) -> None:
        """Begin it."""
        self.presenter.begin(self.step)

    def press_by_key(self) -> None:
        """Begin it by key."""
        self.presenter.begin(self.step)


class TodayPage(Page):
    """The first page of every day; left open over midnight it becomes that of the new one."""

    presenter: TodayPresenter

    def __init__(self, context: ScreenContext, presenter: TodayPresenter) -> None:
        super().__init__(context, presenter)
        self._clock: ClockEvent | None = None

    @override
    def opened(self) -> None:
        super().opened()
        self._look_up()
        self._clock = Clock.schedule_interval(self._look_up, LOOK_UP_S)

    @override
    def closed(self) -> None:
        if self._clock is not None:
            self._clock.cancel()
        super().closed()

    def _look_up(self, *_: object) -> None:
        if self.context.services is not None:
            self.presenter.look_up(self.context.services.clock.today())

    @override
    def draw(self, value: TodayView) -> None:
        """Sentence, map, steps, aim."""
        look = self.look
        self.put(sentence(look, value.standing))
        rows = [
            StepRow(look, step, self.presenter, following=step is value.following) for step in value.steps
        ]
        drawn = [Column(*rows, gap=1)]
        if value.map.columns:
            line_map = TwoLineMap(look, value.map, lambda name: self.context.go("piece", section=name))
            # Where the map would push today's steps out of sight, they come first.
            drawn.insert(1 if Window.height < dp(LOW_WINDOW_DP) * look.text_scale else 0, line_map)
        self.put(*drawn)
        if value.aim is not None or value.offers:
            self.put(self._aim(value))
        if value.safe:
            keep = Press(look, "Keep it safe", lambda: self.context.go("keep"))
            self.put(Column(quiet(look, value.safe), Flow(keep), gap=1))
        following = value.following
        if following is None and value.steps:
            self.put(title(look, DONE_WORDS))
        self.action = "" if following is None else "Begin"

    def _aim(self, value: TodayView) -> Card:
        look, card = self.look, Card(self.look)
        if value.aim is not None:
            card.add(Words(look, value.aim))
        if value.offers:
            if value.aim is None or not value.aim.endswith("?"):
                card.add(Words(look, "By when would you like to finish it?"))
            presses = [Press(look, offer.words) for offer in value.offers]
            for press, offer in zip(presses, value.offers, strict=True):
                press.pressed = self._aiming(offer)
            card.add(Flow(*presses))
        if value.smaller:
            presses = [Press(look, offer.words) for offer in value.smaller]
            for press, smaller in zip(presses, value.smaller, strict=True):
                press.pressed = self._accepting(smaller.title)
            card.add(Flow(*presses))
        return card

    def _aiming(self, offer: AimOffer) -> Callable[[], None]:
        return lambda: self.presenter.aim(offer.day)

    def _accepting(self, title: str) -> Callable[[], None]:
        return lambda: self.presenter.accept(title)


def build(context: ScreenContext) -> Page:
    """Today's page from the log."""
    decides = TodayDecisions(context.room)
    return TodayPage(
        context, TodayPresenter(today_source(context.services), context.later, context.go, decides)
    )
