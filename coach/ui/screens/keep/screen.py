"""Keeping it safe: back up with one tap, put a back-up in place after one question."""

from collections.abc import Callable

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.keep import Asking, KeepPresenter, KeepView
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title


class KeepPage(Page):
    """How safe it is, where back-ups go, and the ways back."""

    presenter: KeepPresenter

    @override
    def draw(self, value: KeepView) -> None:
        look = self.look
        self.scroll.scroll_y = 1
        self.put(sentence(look, value.sentence))
        if value.said:
            self.put(Words(look, value.said, colour=look.theme.good if value.good else look.theme.caution))
        if value.go_back:
            self.put(Flow(Press(look, "Go back to what was here before", self._putting(value.go_back))))
        if value.asking is not None:
            self.put(self._asked(value.asking))
        else:
            if value.folder:
                self.put(self._where(value))
            self.put(self._ways_back(value))
        self.action, self.second = value.action, value.second

    @override
    def act_second(self) -> None:
        self.presenter.act_second()

    @override
    def dropped(self, file: str) -> None:
        self.presenter.look(file)

    def _asked(self, asking: Asking) -> Card:
        look = self.look
        return Card(look, title(look, asking.file), Words(look, asking.holds), Words(look, asking.here))

    def _where(self, value: KeepView) -> Card:
        look = self.look
        ways = [Press(look, "Another folder", self.presenter.find_folder)]
        if not value.usual:
            ways.append(Press(look, "The usual folder", lambda: self.presenter.keep_folder(None)))
        words = quiet(look, "Log, pieces, takes and settings go into one new file there, and replace none.")
        return Card(look, title(look, "Where back-ups go"), Words(look, value.folder), words, Flow(*ways))

    def _ways_back(self, value: KeepView) -> Card:
        look = self.look
        words = quiet(look, "You are told what is in it before anything happens, and can go back afterwards.")
        ways = []
        if value.folder:
            ways.append(Press(look, "Look for a back-up", self.presenter.find))
        ways += [Press(look, words, self._looking(path)) for path, words in value.before]
        parts = [title(look, "Put a back-up in place"), words, *([Flow(*ways)] if ways else [])]
        return Card(look, Column(*parts, gap=1.5))

    def _looking(self, path: str) -> Callable[[], None]:
        return lambda: self.presenter.look(path)

    def _putting(self, path: str) -> Callable[[], None]:
        return lambda: self.presenter.put_back(path)


def build(context: ScreenContext) -> Page:
    """``file`` is a back-up to be looked into, ``folder`` where they go from now on.

    ``restored`` tells where what was here before is kept, right after a back-up was put in place.
    """
    about = context.about
    presenter = KeepPresenter(
        context.room,
        context.later,
        context.jobs,
        context.go,
        file=about.get("file"),
        folder=about.get("folder"),
        restored=about.get("restored"),
    )
    return KeepPage(context, presenter)
