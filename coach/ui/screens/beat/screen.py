"""The beats of the piece in hand, put right one by one."""

from typing_extensions import override

from coach.notation import LineKind
from coach.ui.context import ScreenContext
from coach.ui.presenters.beat import BeatPresenter
from coach.ui.presenters.beat_view import BeatPageView
from coach.ui.theme import SPACE_DP
from coach.ui.widgets.beat_panel import BeatPanel
from coach.ui.widgets.beats_page import BeatsPage
from coach.ui.widgets.layout import Column
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import quiet, sentence, title


class BeatPage(BeatsPage):
    """One bar from near, and the bars around it."""

    presenter: BeatPresenter
    edge_dp = SPACE_DP

    @override
    def draw(self, value: BeatPageView) -> None:
        """The sentence, and the bar with what can be done about it."""
        look = self.look
        self.sentence, self.said = sentence(look, value.sentence), title(look, value.said)
        self.panel = BeatPanel(look, value.beat, self.presenter)
        self.put(Column(self.sentence, self.said, gap=1), self.panel, quiet(look, value.words))
        self.action, self.second = value.action, value.second

    @override
    def keeps(self, value: BeatPageView) -> bool:
        """Beats are moved in place: the bar must not jump away under the finger."""
        if self.panel is None or not self.panel.keeps(value.beat):
            return False
        self.sentence.said, self.said.said = value.sentence, value.said
        self.action, self.second = value.action, value.second
        return True

    @override
    def act_second(self) -> None:
        self.presenter.leave()


def build(context: ScreenContext) -> Page:
    """The beats around the section that ``about`` names."""
    section = context.about.get("section", "A")
    kind = LineKind(context.about.get("line", LineKind.MELODY.value))
    return BeatPage(
        context, BeatPresenter(context.room, section, kind, context.later, context.jobs, context.go)
    )
