"""The piece: the two-line map, the next step, and the next-time list."""

from functools import partial

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.piece import PiecePresenter
from coach.ui.presenters.piece_standing import ANOTHER, TOO_HARD, FinishedView, PieceView
from coach.ui.widgets.buttons import Press, Weight
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
        """Title, sentence, map, what can be opened of a section, lists."""
        look = self.look
        self.put(Column(title(look, value.title), sentence(look, value.standing), gap=1))
        if value.lacks_recording or value.said:
            self.put(self._recording(value))
        if value.map.columns:
            self.put(TwoLineMap(look, value.map, self.presenter.open_section))
        if value.stages:
            self.put(self._stages(value))
        if value.words:
            self.put(
                Card(look, quiet(look, "From your teacher"), *(Words(look, word) for word in value.words))
            )
        if value.in_hand:
            self.put(self._next_time(value), self._aside())
        if value.finished:
            self.put(title(look, "Done"))
            self.put(*(self._done(piece) for piece in value.finished))
        self.action = value.action

    def _stages(self, value: PieceView) -> Card:
        """The section that is looked at: its next stage, and those that may be changed again."""
        look, presenter = self.look, self.presenter
        doors = [Press(look, each.words, partial(presenter.open_stage, each.stage)) for each in value.stages]
        if value.other_key:
            doors.append(Press(look, "Another key", presenter.other_key, weight=Weight.QUIET))
        what = f"Section {value.section}: go on, or go back to change something"
        return Card(look, quiet(look, what), Flow(*doors))

    def _next_time(self, value: PieceView) -> Card:
        look = self.look
        ideas = [Words(look, f"– {idea}") for idea in value.ideas]
        if not ideas:
            ideas = [quiet(look, "Ideas beyond today go here: a third voice, chords, another ending.")]
        field = Field(look, "An idea for next time", ended=self.presenter.note_idea)
        note = Press(look, "Note it", lambda: self.presenter.note_idea(field.entry.text))
        return Card(look, title(look, "Next time"), *ideas, field, Flow(note))

    def _aside(self) -> Card:
        """Laying the piece aside needs a reason, not a keyboard."""
        look, aside = self.look, self.presenter.set_aside
        field = Field(look, "Or say it in your own words", ended=aside)
        reasons = [Press(look, words, partial(aside, words)) for words in (TOO_HARD, ANOTHER)]
        lay = Press(look, "Lay it aside", lambda: aside(field.entry.text))
        kept = quiet(look, "All of it is kept, and you can take it up again.")
        return Card(look, title(look, "Lay this piece aside"), kept, Flow(*reasons), field, Flow(lay))

    def _done(self, piece: FinishedView) -> Card:
        look = self.look
        see = Press(look, "See and hear it", lambda: self.presenter.look_at(piece.piece))
        return Card(look, title(look, piece.title), quiet(look, piece.words), Flow(see))

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
    """The piece's page from the log.

    ``recording`` is a file that was found for it, ``section`` the one to look at.
    """
    about = context.about
    presenter = PiecePresenter(
        context.room,
        context.later,
        context.jobs,
        context.go,
        about.get("recording"),
        about.get("section"),
    )
    return PiecePage(context, presenter)
