"""What pages need around them in tests: a context without devices or disk, and presenters that only show."""

from collections.abc import Callable
from typing import Any

from coach.ui.context import ScreenContext
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import PageView
from coach.ui.theme import EVENING, Look


class Now:
    """The `UiCalls` port that calls at once."""

    def later(self, call: Callable[[], None]) -> None:
        call()


class Went:
    """Remembers where a screen wanted to go."""

    def __init__(self) -> None:
        self.to: list[tuple[str, dict[str, str]]] = []

    def __call__(self, word: str, **about: str) -> None:
        self.to.append((word, about))


def went_to(presenter: Any) -> list[tuple[str, dict[str, str]]]:
    """Where a presenter that was made with a `Went` has gone."""
    return presenter._go.to


def gone(context: ScreenContext) -> list[tuple[str, dict[str, str]]]:
    """Where a page of `a_context` has gone."""
    assert isinstance(context.go, Went)
    return context.go.to


def a_context(
    look: Look | None = None, services: Any = None, room: Any = None, **about: str
) -> ScreenContext:
    return ScreenContext(look or Look(EVENING), services, room, Now(), InlineRunner(), Went(), about)


class Shown(Presenter[Any]):
    """A presenter that shows what it is given and counts what is asked of it."""

    position = position_s = None

    def __init__(self, view: PageView[Any]) -> None:
        super().__init__(Now(), view)
        self.acts = 0
        self.cancels = 0

    def act(self) -> None:
        self.acts += 1

    def cancel(self) -> None:
        self.cancels += 1

    def show(self, view: PageView[Any]) -> None:
        self._show(view)

    def __getattr__(self, name: str) -> Callable[..., None]:
        """Whatever else a page binds to a button does nothing."""
        if name.startswith("_"):
            raise AttributeError(name)
        return lambda *_, **__: None
