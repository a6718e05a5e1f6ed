"""The tuner: the string meant, which way to turn, and all six strings' last result."""

from collections.abc import Callable

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.tuner import StringView, TunerPresenter, TunerView
from coach.ui.presenters.view import PageView, Ready
from coach.ui.theme import DRILL_TARGET_DP, SPACE_DP
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.dial import Dial
from coach.ui.widgets.layout import Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, note_name, quiet, sentence

READING_S = 0.2
"""The number changes no faster than it can be read; the bead moves with every reading."""


LOW_DP = 560
"""In a lower window the note's large name gives its place to the strings."""
LOW_DIAL_DP = 84


def cents_words(cents: float) -> str:
    """How far off in whole cents, with a sign but for none."""
    whole = round(cents)
    return "0 cents" if whole == 0 else f"{whole:+d} cents".replace("-", "−")


class TunerPage(Page):
    """Drawn once; then only the bead, a few words and the strings' marks change."""

    presenter: TunerPresenter

    def __init__(self, context: ScreenContext, presenter: TunerPresenter) -> None:
        self._on = False
        self._read_at_s = 0.0
        super().__init__(context, presenter)

    @override
    def draw(self, value: TunerView) -> None:
        look = self.look
        self._said, self._note = sentence(look), note_name(look, " ")
        self._cents = quiet(look, " ")
        self._cents.halign = "center"
        self._warn = Words(look, colour=look.theme.wrong, bold=True)
        low = Window.height < dp(LOW_DP)
        self._dial = Dial(look, least_dp=LOW_DIAL_DP) if low else Dial(look)
        self._strings = {string.number: self._string(string) for string in value.strings}
        row = Flow(*self._strings.values(), gap=1.5)
        if low:
            # The sentence names the note; all strings stay in sight.
            self.edge_dp, self.body.spacing = SPACE_DP, dp(SPACE_DP)
            self._cents.size_hint_x, self._cents.width = None, dp(110) * look.text_scale
            self._cents.pos_hint = {"center_y": 0.5}
            self.put(self._said, self._warn, self._filling(self._cents), row)
        else:
            hint = quiet(look, "Tap a string to hear only that one; tap it again to let me find out.")
            name = Column(
                self._note, self._cents, gap=0.25, size_hint_x=None, width=dp(150) * look.text_scale
            )
            name.pos_hint = {"center_y": 0.5}
            self.put(self._said, self._warn, self._filling(name), row, hint)
        self.source = self.presenter.levels
        self.action = "Done"
        self._on = True
        self._follow(value)

    @override
    def keeps(self, value: TunerView) -> bool:
        if self._on:
            self._follow(value)
        return self._on

    @override
    def show(self, view: PageView[TunerView]) -> None:
        if not isinstance(view, Ready):
            self._on = False
            self.source = None
        super().show(view)

    def _follow(self, value: TunerView) -> None:
        self._said.said, self._warn.said = value.sentence, value.warn
        self._note.said = value.note or " "
        self._note.tint(self.look.theme.good if value.in_tune else self.look.theme.text)
        now_s = Clock.get_time()
        if value.cents is None or now_s - self._read_at_s >= READING_S:
            self._read_at_s = now_s
            self._cents.said = " " if value.cents is None else cents_words(value.cents)
        self._dial.show(value.cents, good=value.in_tune, steady=value.steady)
        for string in value.strings:
            button = self._strings[string.number]
            button.said = f"{string.name} ✓" if string.done else string.name
            button.chosen = value.locked == string.number or (value.locked is None and string.meant)

    def _filling(self, beside: Widget) -> BoxLayout:
        """The dial, as high as there is room, and what stands beside it."""
        row = BoxLayout(spacing=dp(SPACE_DP), size_hint_min_y=self._dial.size_hint_min_y)
        row.add_widget(beside)
        row.add_widget(self._dial)
        return row

    def _string(self, string: StringView) -> Press:
        button = Press(self.look, string.name, target_dp=DRILL_TARGET_DP)
        button.width = max(button.width, dp(96))
        button.pressed = self._locking(string.number)
        return button

    def _locking(self, number: int) -> Callable[[], None]:
        return lambda: self.presenter.lock(number)


def build(context: ScreenContext) -> Page:
    """The tuner on the room's microphone."""
    return TunerPage(context, TunerPresenter(context.room, context.later, context.go))
