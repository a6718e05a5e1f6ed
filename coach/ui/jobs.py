"""Long work beside the screen: in a thread, with progress and cancel."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from coach.errors import CancelledError, CoachError
from coach.sessions.ports import Jobs, UiCalls

T = TypeVar("T")


class Job(Protocol):
    """A piece of work under way."""

    def cancel(self) -> None:
        """Ask it to stop at its next word of progress."""
        ...


class JobRunner(Protocol):
    """Starts work and brings its words and its end to the screen's thread."""

    def start(
        self,
        work: Callable[[Jobs], T],
        *,
        done: Callable[[T], None],
        failed: Callable[[CoachError], None],
        progress: Callable[[float, str], None] | None = None,
    ) -> Job:
        """Begin; one of ``done`` and ``failed`` is called at the end (`CancelledError` when stopped)."""
        ...


@dataclass(slots=True)
class _Running:
    """The `Jobs` port as the work sees it, and the handle as the screen sees it."""

    later: UiCalls
    tell: Callable[[float, str], None] | None
    stopped: threading.Event = field(default_factory=threading.Event)

    def progress(self, share: float, what: str) -> None:
        """Pass a word of progress on, or stop the work."""
        if self.stopped.is_set():
            raise CancelledError("Stopped. Nothing was changed.")
        tell = self.tell
        if tell is not None:
            self.later.later(lambda: tell(share, what))

    def cancel(self) -> None:
        """Ask the work to stop."""
        self.stopped.set()


class ThreadRunner:
    """The runner of the app: one thread a job; a fault of the program is raised on the screen's thread."""

    def __init__(self, later: UiCalls) -> None:
        self._later = later

    def start(
        self,
        work: Callable[[Jobs], T],
        *,
        done: Callable[[T], None],
        failed: Callable[[CoachError], None],
        progress: Callable[[float, str], None] | None = None,
    ) -> Job:
        """Begin the work in a thread of its own."""
        running = _Running(self._later, progress)
        threading.Thread(
            target=self._run, args=(work, running, done, failed), name="screen job", daemon=True
        ).start()
        return running

    def _run(
        self,
        work: Callable[[Jobs], T],
        running: _Running,
        done: Callable[[T], None],
        failed: Callable[[CoachError], None],
    ) -> None:
        try:
            value = work(running)
        except CoachError as error:
            told = error
            self._later.later(lambda: failed(told))
        except BaseException as fault:
            raised = fault
            self._later.later(lambda: _raise(raised))
            raise
        else:
            self._later.later(lambda: done(value))


def _raise(fault: BaseException) -> None:
    raise fault


class InlineRunner:
    """Does the work at once on the caller's thread; for tests and for work that is short anyway."""

    def start(
        self,
        work: Callable[[Jobs], T],
        *,
        done: Callable[[T], None],
        failed: Callable[[CoachError], None],
        progress: Callable[[float, str], None] | None = None,
    ) -> Job:
        """Do the work and tell its end before returning."""

        class Now:
            def later(self, call: Callable[[], None]) -> None:
                call()

        running = _Running(Now(), progress)
        try:
            value = work(running)
        except CoachError as error:
            failed(error)
        else:
            done(value)
        return running
