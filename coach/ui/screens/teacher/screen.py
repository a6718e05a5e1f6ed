"""The teacher's place: learners side by side, a pack, a reply."""

from collections.abc import Callable

from kivy.metrics import dp
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.teacher import TeacherPresenter
from coach.ui.presenters.teacher_view import LearnerCard, PackForm, ReplyForm, TeacherView
from coach.ui.widgets.buttons import Choice, Press
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Card, Column, Flow, Row
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title

CARD_DP = 300
"""A learner's card is at least so wide."""
MOST_BESIDE = 3


class SideBySide(Column):
    """Cards beside each other, as many in a row as are wide enough; the tops of a row are level."""

    def __init__(self, cards: list[Card], text_scale: float) -> None:
        super().__init__(gap=1.5)
        self.cards, self._least = cards, dp(CARD_DP) * text_scale
        self._many = 0
        self.bind(width=self._lay)
        self._lay()

    def _lay(self, *_: object) -> None:
        many = max(1, min(MOST_BESIDE, int(self.width / self._least)))
        if many == self._many:
            return
        self._many = many
        for row in self.children[:]:
            row.clear_widgets()
        self.clear_widgets()
        for first in range(0, len(self.cards), many):
            beside: list[Widget] = [*self.cards[first : first + many]]
            beside += [Widget(size_hint_y=None, height=1) for _ in range(many - len(beside))]
            for each in beside:
                each.pos_hint = {"top": 1}
            self.add_widget(Row(*beside, gap=1.5))


class TeacherPage(Page):
    """One of three pages."""

    presenter: TeacherPresenter

    @override
    def draw(self, value: TeacherView) -> None:
        look = self.look
        self.put(sentence(look, value.sentence))
        if value.said:
            self.put(Words(look, value.said, colour=look.theme.good))
        if value.wrong:
            self.put(Words(look, value.wrong, colour=look.theme.caution))
        if value.pack is not None:
            self._pack(value.pack)
        elif value.reply is not None:
            self._reply(value.reply)
        elif value.second == "Read again":
            self._learners(value)
        self.action, self.second = value.action, value.second

    @override
    def act_second(self) -> None:
        self.presenter.act_second()

    def _learners(self, value: TeacherView) -> None:
        look = self.look
        if value.learners:
            cards = [self._learner(card) for card in value.learners]
            self.put(SideBySide(cards, look.text_scale))
        for trouble in value.troubles:
            self.put(Words(look, trouble, colour=look.theme.caution))
        watch = self.presenter.watch_folder
        field = Field(look, "The folder with your learners' reports", value.folder, ended=watch)
        keep = Press(look, "Watch this folder", lambda: watch(field.entry.text))
        find = Press(look, "Look for the folder", self.presenter.look_for_folder)
        self.put(Column(field, Flow(keep, find), gap=1))

    def _learner(self, card: LearnerCard) -> Card:
        look = self.look
        drawn = Card(look, title(look, card.name), Words(look, card.where), gap=1)
        if card.since:
            drawn.add(Words(look, card.since, colour=look.theme.caution if card.stuck else None))
        drawn.add(quiet(look, card.facts))
        if card.can_reply:
            drawn.add(Flow(Press(look, f"Answer {card.name}", self._answering(card.file))))
        return drawn

    def _answering(self, file: str) -> Callable[[], None]:
        return lambda: self.presenter.begin_reply(file)

    def _pack(self, form: PackForm) -> None:
        look, presenter = self.look, self.presenter
        self.put(
            Column(Choice(look, form.pieces, form.chosen, presenter.choose_piece), quiet(look, form.facts))
        )
        self.put(Field(look, "Your word to the learner", form.word, typed=presenter.type_word))
        if form.has_recording:
            options = [("no", "no, each has their own copy"), ("yes", "yes, I may hand it on")]
            chosen = "yes" if form.with_recording else "no"
            asked = Words(look, "Does the recording go along?")
            self.put(Column(asked, Choice(look, options, chosen, presenter.choose_recording), gap=1))

    def _reply(self, form: ReplyForm) -> None:
        look, presenter = self.look, self.presenter
        self.put(quiet(look, form.where))
        self.put(Field(look, "Your word", form.word, typed=presenter.type_word))
        if len(form.sections) > 1:
            less = Choice(look, form.sections, form.without, presenter.choose_without)
            self.put(Column(Words(look, "A smaller piece?"), less, gap=1))
        more = Choice(
            look,
            [("no", "no"), ("yes", "yes, once more")],
            "yes" if form.one_more_change else "no",
            presenter.choose_change,
        )
        asked = Words(look, "May a line that is good enough be changed again?")
        self.put(Column(asked, more, gap=1))
        if not form.can_correct:
            self.put(quiet(look, "To correct a note, this device needs the same piece with its beat."))
            return
        lines = Choice(
            look, [("melody", "in the tune"), ("bass", "in the bass")], form.line, presenter.choose_line
        )
        note = Field(
            look,
            "A corrected note: bar, beat, note as the learner plays it, beats long, such as 3, 2, F#4, 1",
            form.note,
            typed=presenter.type_note,
        )
        self.put(Column(note, lines, gap=1))


def build(context: ScreenContext) -> Page:
    """The teacher's place; ``folder`` is one to be watched from now on."""
    folder = context.about.get("folder")
    return TeacherPage(
        context, TeacherPresenter(context.services, context.later, context.jobs, context.go, folder)
    )
