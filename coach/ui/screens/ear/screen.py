"""The ear set: the drills due and what each is good for, and the way to begin."""

from kivy.metrics import dp
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.ear import DrillRow, EarPresenter, EarView
from coach.ui.theme import MARK_SP
from coach.ui.widgets.buttons import Choice
from coach.ui.widgets.layout import Card, Column, Row
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence


class EarPage(Page):
    """The set as a list."""

    presenter: EarPresenter

    @override
    def draw(self, value: EarView) -> None:
        look = self.look
        self.put(sentence(look, value.sentence))
        if value.shorter:
            self.put(quiet(look, value.shorter))
        options = (("yes", "I can sing or hum"), ("no", "I can't sing now"))
        self.put(Choice(look, options, "yes" if value.sings else "no", self.presenter.sing))
        for fault in value.faults:
            self.put(Card(look, Words(look, "A drill was left out.", bold=True), Words(look, fault)))
        if value.caution:
            self.put(Card(look, Words(look, value.caution)))
        self.put(Column(*(self._row(row) for row in value.rows), gap=1))
        self.action = "Begin"

    def _row(self, row: DrillRow) -> Card:
        look = self.look
        title = row.title if row.count == 1 else f"{row.title.rstrip('?')}, {row.count} times"
        use = f"Good for {row.good_for}."
        why = Words(look, row.why, size_sp=MARK_SP, colour=look.theme.quiet, align="right")
        why.size_hint_x, why.width = None, dp(150) * look.text_scale
        if row.for_piece:
            use = f"For your piece: {row.good_for}."
        words = Column(Words(look, title, bold=True), Words(look, use, colour=look.theme.quiet), gap=0.25)
        for part in (words, why):
            part.pos_hint = {"center_y": 0.5}
        return Card(look, Row(words, why, gap=1))


def build(context: ScreenContext) -> Page:
    """Today's set."""
    return EarPage(context, EarPresenter(context.room, context.later, context.go))
