"""The root of all presenters: one view value, and those who watch it."""

from collections.abc import Callable
from typing import Generic, TypeVar

from coach.sessions.ports import UiCalls
from coach.ui.jobs import Job
from coach.ui.presenters.view import PageView

T = TypeVar("T")


class Presenter(Generic[T]):
    """Holds the present view and tells each new one on the screen's thread.

    Parameters
    ----------
    later
        Brings calls from other threads to the screen's own.
    first
        What is shown before anything has happened.
    """

    def __init__(self, later: UiCalls, first: PageView[T]) -> None:
        self._later = later
        self._view = first
        self._job: Job | None = None
        self._watchers: list[Callable[[PageView[T]], None]] = []

    @property
    def view(self) -> PageView[T]:
        """What is to be shown now."""
        return self._view

    def watch(self, call: Callable[[PageView[T]], None]) -> Callable[[], None]:
        """Be told every new view, on the screen's thread; call what is returned to be told no more."""
        self._watchers.append(call)

        def unwatch() -> None:
            if call in self._watchers:
                self._watchers.remove(call)

        return unwatch

    def opened(self) -> None:
        """The screen is on: a presenter that listens starts here."""

    def closed(self) -> None:
        """The screen is left: whatever runs is stopped here."""

    def act(self) -> None:
        """Do the screen's one action, or the one its notice offers."""

    def cancel(self) -> None:
        """Stop the work under way; harmless where there is none."""
        if self._job is not None:
            self._job.cancel()
            self._job = None

    def _show(self, view: PageView[T]) -> None:
        """Change the view; may be called from any thread."""
        self._view = view
        self._later.later(lambda: self._tell(view))

    def _tell(self, view: PageView[T]) -> None:
        if view is self._view:
            for call in tuple(self._watchers):
                call(view)
