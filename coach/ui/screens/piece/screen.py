"""The piece: the two-line map, the next step, and the next-time list."""

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.piece import PiecePresenter, PieceView
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Card, Column, Flow
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
        if value.lacks_recording or value.said:
            self.put(self._recording(value))
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

    @override
    def dropped(self, file: str) -> None:
        self.presenter.bring_recording(file)

    def _recording(self, value: PieceView) -> Card:
        look, bring = self.look, self.presenter.bring_recording
        said = [Words(look, value.said)] if value.said else []
        if not value.lacks_recording:
            return Card(look, *said)
        field = Field(look, "Drop your own copy here, or type where it is", ended=bring)
        give = Press(look, "Bring it in", lambda: bring(field.entry.text))
        find = Press(look, "Look for it", self.presenter.look_for_recording)
        needed = "The recording of this piece is not here yet. It has to be the very same file."
        return Card(look, Words(look, needed), *said, field, Flow(find, give))


def build(context: ScreenContext) -> Page:
    """The piece's page from the log; ``recording`` is a file that was found for it."""
    recording = context.about.get("recording")
    return PiecePage(
        context, PiecePresenter(context.room, context.later, context.jobs, context.go, recording)
    )
