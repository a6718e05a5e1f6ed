"""Set-up: one card at a time, with what it is for."""

from collections.abc import Callable

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.setup import Asked, SetupPresenter, SetupView, Typed
from coach.ui.presenters.view import PageView, Ready
from coach.ui.widgets.buttons import Choice, Press, Weight
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.steps import StepMarks
from coach.ui.widgets.text import Words, quiet, sentence
from coach.ui.widgets.toggles import Toggles


class SetupPage(Page):
    """A card, its questions, its tools."""

    presenter: SetupPresenter

    @override
    def draw(self, value: SetupView) -> None:
        look = self.look
        self.put(StepMarks(look, value.number, value.count))
        self.put(Column(sentence(look, value.title), quiet(look, value.why), gap=1))
        if value.note:
            self.put(Words(look, value.note, colour=look.theme.good if value.good else look.theme.caution))
        for asked in value.questions:
            self.put(self._question(asked))
        for line in value.lines:
            self.put(self._line(line))
        tools = [Press(look, words, self._using(word)) for word, words in value.tools]
        if value.number > 1:
            tools.append(Press(look, "Back", self.presenter.back, weight=Weight.QUIET))
        if tools:
            self.put(Flow(*tools))
        if value.found and not value.note:
            self.put(quiet(look, value.found))
        if value.caution:
            self.put(quiet(look, value.caution))
        self.source = self.presenter.levels
        self.action = "Done" if value.last else "Next"
        self.second = "" if value.last else "Skip"

    @override
    def show(self, view: PageView[SetupView]) -> None:
        if not isinstance(view, Ready):
            self.source = None
        super().show(view)

    @override
    def act_second(self) -> None:
        self.presenter.skip()

    @override
    def dropped(self, file: str) -> None:
        self.presenter.drop(file)

    def _line(self, line: Typed) -> Column:
        def keep(*_: object) -> None:
            self.presenter.write(line.key, field.entry.text)

        field = Field(self.look, line.asked, line.text, ended=keep)
        return Column(field, Flow(Press(self.look, line.keep, keep)), gap=1)

    def _question(self, asked: Asked) -> Column:
        choosing = self._choosing(asked.key)
        choice: Flow = (
            Toggles(self.look, asked.options, asked.chosen.split(","), choosing)
            if asked.many
            else Choice(self.look, asked.options, asked.chosen, choosing)
        )
        return Column(Words(self.look, asked.asked), choice, gap=1) if asked.asked else Column(choice)

    def _choosing(self, key: str) -> Callable[[str], None]:
        return lambda option: self.presenter.choose(key, option)

    def _using(self, word: str) -> Callable[[], None]:
        return lambda: self.presenter.use(word)


def build(context: ScreenContext) -> Page:
    """The card named in ``about``, else the first.

    ``file`` is a teacher's, to be opened at once; or ``recording``, the player's own copy for ``pack``.
    """
    about = context.about
    card, file, pack = about.get("card"), about.get("recording", about.get("file")), about.get("pack")
    return SetupPage(
        context, SetupPresenter(context.room, context.later, context.jobs, context.go, card, file, pack)
    )
