"""Today: where the piece stands, and the steps of the day."""

from collections.abc import Callable
from dataclasses import dataclass

from typing_extensions import override

from coach.errors import CoachError
from coach.sessions.ports import UiCalls
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
class TodayView:
    """What Today shows.

    Parameters
    ----------
    piece
        Title of the piece in hand, ``None`` without one.
    standing
        Where it stands, in one sentence.
    aim
        Aim and forecast in one sentence, ``None`` before there is one.
    """

    standing: str
    steps: tuple[StepView, ...]
    piece: str | None = None
    map: MapView = NO_MAP
    aim: str | None = None
    first_day: bool = False

    @property
    def following(self) -> StepView | None:
        """The first step that is not done."""
        return next((step for step in self.steps if not step.done), None)


class TodayPresenter(Presenter[TodayView]):
    """Reads the day's page; begins its first open step.

    Parameters
    ----------
    source
        Gives the page as the log stands now.
    go
        Opens a screen by its word.
    """

    def __init__(self, source: Callable[[], TodayView], later: UiCalls, go: Callable[..., None]) -> None:
        self._source = source
        self._go = go
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
        """Begin a step out of turn."""
        self._go(step.screen, **dict(step.about))

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
