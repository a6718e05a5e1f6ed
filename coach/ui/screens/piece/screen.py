"""The piece: the two-line map, large, the next step, and the next-time list."""

from kivy.core.window import Window
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
        if value.aside:
            self.put(*(self._aside(piece, said) for piece, said in value.aside))
            self.action = value.action
            return
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
    def opened(self) -> None:
        super().opened()
        Window.bind(on_drop_file=self._dropped)

    @override
    def closed(self) -> None:
        Window.unbind(on_drop_file=self._dropped)
        super().closed()

    def _dropped(self, _window: object, name: bytes, *_: object) -> None:
        self.presenter.bring_recording(name.decode("utf-8", "replace"))

    def _recording(self, value: PieceView) -> Card:
        look, bring = self.look, self.presenter.bring_recording
        said = [Words(look, value.said)] if value.said else []
        if not value.lacks_recording:
            return Card(look, *said)
        field = Field(look, "Drop your own copy here, or type where it is", ended=bring)
        give = Press(look, "Bring it in", lambda: bring(field.entry.text))
        needed = "The recording of this piece is not here yet. It has to be the very same file."
        return Card(look, Words(look, needed), *said, field, Flow(give))

    def _aside(self, piece: str, said: str) -> Card:
        look = self.look
        again = Press(look, "Take it up again", lambda: self.presenter.take_up(piece))
        return Card(look, Words(look, said), Flow(again))


def build(context: ScreenContext) -> Page:
    """The piece's page from the log."""
    return PiecePage(context, PiecePresenter(context.room, context.later, context.jobs, context.go))
