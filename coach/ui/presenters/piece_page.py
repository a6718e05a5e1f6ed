"""What the pages of the piece in hand do alike: open a section, work beside the screen, say what is wrong."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import TypeVar

from typing_extensions import override

from coach.errors import CoachError
from coach.practice.piece_state import PieceState, SectionState
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Missing, Working

T = TypeVar("T")
R = TypeVar("R")


class PiecePagePresenter(Presenter[T], ABC):
    """One section of the piece in hand.

    Parameters
    ----------
    room
        Journal, recording, studio, player.
    section
        The section's name.
    opening
        What the page does before it can be shown, in a few words.
    failure
        What has happened when that fails, in a sentence.
    """

    way_on = "piece"
    """Where an empty page leads."""

    def __init__(
        self,
        room: PracticeRoom,
        section: str,
        later: UiCalls,
        jobs: JobRunner,
        go: Go,
        *,
        opening: str,
        failure: str,
    ) -> None:
        super().__init__(later, Working(opening, None))
        self._room, self._section, self._jobs, self._go = room, section, jobs, go
        self._settings = room.services.current_settings()
        self._failure = failure
        self._said = ""

    # --- what a page says of itself -----------------------------------------------------------------------

    @abstractmethod
    def _act(self) -> None:
        """Do the one action of the page when it is ready."""

    @abstractmethod
    def _refresh(self) -> None:
        """Show how things stand."""

    # --- what all do alike --------------------------------------------------------------------------------

    @override
    def act(self) -> None:
        """Do the one action, or the one its notice offers."""
        match self._view:
            case Empty():
                self._go(self.way_on)
            case Failed() | Missing():
                self.opened()
            case _:
                self._act()

    def _start(self, work: Callable[[Jobs], R], done: Callable[[R], None]) -> None:
        """Do something long beside the screen."""
        self._job = self._jobs.start(work, done=done, failed=self._failed, progress=self._working)

    def _working(self, share: float, what: str) -> None:
        self._show(Working(what, share))

    def _failed(self, error: CoachError) -> None:
        self._show(Failed(self._failure, error.message))

    def _guarded(self, work: Callable[[], object]) -> None:
        """Do something; what goes wrong is said on the page."""
        try:
            work()
        except CoachError as error:
            self._say(error.message)
            self._refresh()

    def _doing(self, work: Callable[[], object]) -> None:
        """Do something, and show what came of it, or what went wrong."""
        try:
            work()
        except CoachError as error:
            self._say(error.message)
        self._refresh()

    def _say(self, words: str) -> None:
        self._said = words

    @property
    def _piece(self) -> PieceState:
        piece = self._room.journal.progress.piece
        if piece is None:
            raise ValueError("the page is open without a piece")
        return piece

    @property
    def _state(self) -> SectionState | None:
        """The section, ``None`` without a piece or without such a section."""
        piece = self._room.journal.progress.piece
        return piece.section(self._section) if piece is not None else None
