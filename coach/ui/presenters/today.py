"""Today: where the piece stands, and the steps of the day."""

from collections.abc import Callable
from datetime import date
from typing import Protocol

from typing_extensions import override

from coach.errors import CoachError
from coach.practice.events import AimSet
from coach.practice.proposals import outlook
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.today_view import StepView, TodayView
from coach.ui.presenters.view import Empty, Failed, Ready


class Decides(Protocol):
    """Keeps what the player decides on Today."""

    def aim(self, day: date) -> None:
        """Set the aim."""
        ...

    def smaller(self, title: str) -> None:
        """Accept a smaller piece of work."""
        ...


class TodayDecisions:
    """Keeps an aim, or a smaller piece of work, for the piece in hand."""

    def __init__(self, room: PracticeRoom) -> None:
        self._room = room

    def aim(self, day: date) -> None:
        """Set the aim; nothing happens without a piece."""
        piece = self._room.journal.progress.in_hand
        if piece is not None:
            self._room.journal.write(AimSet(piece, day))

    def smaller(self, title: str) -> None:
        """Accept the proposal of that title; nothing happens if it is offered no more."""
        journal, services = self._room.journal, self._room.services
        ahead = outlook(journal.progress, services.current_settings(), services.clock.today())
        piece = journal.progress.in_hand
        for proposal in ahead.proposals:
            if proposal.title == title and piece is not None:
                journal.write(proposal.accepted(piece))


class TodayPresenter(Presenter[TodayView]):
    """Reads the day's page; begins its first open step.

    Parameters
    ----------
    source
        Gives the page as the log stands now.
    go
        Opens a screen by its word.
    decides
        Keeps an aim or a smaller piece; without it they are not offered.
    """

    def __init__(
        self, source: Callable[[], TodayView], later: UiCalls, go: Go, decides: Decides | None = None
    ) -> None:
        self._source, self._go, self._decides = source, go, decides
        self._day: date | None = None
        super().__init__(later, Empty("Nothing is planned yet."))
        self._read()

    @override
    def act(self) -> None:
        """Begin the first open step; from a notice, read the log again or make the first step of all."""
        match self._view:
            case Ready(value):
                step = value.following
                if step is not None:
                    self._go(step.screen, **dict(step.about))
            case Failed():
                self._read()
            case _:
                self._go("first_run")

    def look_up(self, today: date) -> None:
        """Make the page anew when a new day has come; the screen asks now and then."""
        before, self._day = self._day, today
        if before is not None and before != today:
            self._read()

    def begin(self, step: StepView) -> None:
        """Begin a step out of turn; a rest is only taken."""
        if step.screen:
            self._go(step.screen, **dict(step.about))

    def aim(self, day: date) -> None:
        """Set the aim."""
        self._decide(lambda decides: decides.aim(day))

    def accept(self, title: str) -> None:
        """Accept a smaller piece of work."""
        self._decide(lambda decides: decides.smaller(title))

    def _decide(self, decision: Callable[[Decides], None]) -> None:
        if self._decides is None:
            return
        try:
            decision(self._decides)
        except CoachError as error:
            self._show(Failed("That could not be kept.", error.message))
            return
        self._read()

    def _read(self) -> None:
        try:
            page = self._source()
        except CoachError as error:
            self._show(Failed("Today's page could not be made.", error.message))
            return
        if page.first_day:
            self._show(Empty(page.standing, "Let's find three notes"))
        else:
            self._show(Ready(page))
