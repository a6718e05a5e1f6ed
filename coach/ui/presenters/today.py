"""Today: where the piece stands, and the steps of the day."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from typing_extensions import override

from coach.errors import CoachError
from coach.sessions.ports import UiCalls
from coach.ui.context import Go
from coach.ui.presenters.map_view import NO_MAP, MapView
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready


@dataclass(frozen=True, slots=True)
class StepView:
    """A step of today: ``kind`` is ``tune``, ``ear``, ``piece`` or ``rest``; it is done on ``screen``."""

    kind: str
    title: str
    minutes: int
    screen: str
    about: tuple[tuple[str, str], ...] = ()
    done: bool = False


@dataclass(frozen=True, slots=True)
class AimOffer:
    """A day to aim for, as it is offered."""

    day: date
    words: str


@dataclass(frozen=True, slots=True)
class SmallerOffer:
    """A smaller piece of work as it is offered: by its title, with the day that it would give."""

    title: str
    words: str


@dataclass(frozen=True, slots=True)
class TodayView:
    """What Today shows.

    Parameters
    ----------
    standing
        Where the piece stands, in one sentence.
    aim
        Aim and forecast, ``None`` before there are any.
    offers
        Days to aim for, when it is time to ask.
    smaller
        Smaller pieces of work that are offered where the aim would be missed.
    safe
        A word about a back-up that is due, empty else.
    """

    standing: str
    steps: tuple[StepView, ...]
    map: MapView = NO_MAP
    aim: str | None = None
    offers: tuple[AimOffer, ...] = ()
    smaller: tuple[SmallerOffer, ...] = ()
    first_day: bool = False
    safe: str = ""

    @property
    def following(self) -> StepView | None:
        """The first step that is not done and leads somewhere."""
        return next((step for step in self.steps if step.screen and not step.done), None)


class Decides(Protocol):
    """Keeps what the player decides on Today."""

    def aim(self, day: date) -> None:
        """Set the aim."""
        ...

    def smaller(self, title: str) -> None:
        """Accept a smaller piece of work."""
        ...


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
