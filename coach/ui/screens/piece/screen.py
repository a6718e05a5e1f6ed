"""The piece: the two-line map, large, the next step, and the next-time list."""

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.piece import PiecePresenter, PieceView
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Card, Column
from coach.ui.widgets.line_map import TwoLineMap
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title


class PiecePage(Page):
    """The piece in hand."""

    presenter: PiecePresenter

    @override
    def draw(self, value: PieceView) -> None:
        """Title, sentence, map, list."""
        look = self.look
        self.put(Column(title(look, value.title), sentence(look, value.standing), gap=1))
        if value.map.columns:
            self.put(TwoLineMap(look, value.map, self.presenter.open_section))
        if value.words:
            self.put(
                Card(look, quiet(look, "From your teacher"), *(Words(look, word) for word in value.words))
            )
        ideas = [Words(look, f"– {idea}") for idea in value.ideas]
        if not ideas:
            ideas = [quiet(look, "Ideas beyond today go here: a third voice, chords, another ending.")]
        field = Field(look, "An idea for next time", ended=self.presenter.note_idea)
        self.put(Card(look, title(look, "Next time"), *ideas, field))
        aside = Field(look, "Lay this piece aside, because …", ended=self.presenter.set_aside)
        self.put(Card(look, aside))
        self.action = value.action


def build(context: ScreenContext) -> Page:
    """The piece's page from the log."""
    return PiecePage(context, PiecePresenter(context.room, context.later, context.go))
