"""The journal: the one place through which events reach the log."""

from collections.abc import Callable

from coach.errors import ScopeError
from coach.practice.events import Event, LoggedEvent
from coach.practice.fold import fold
from coach.practice.piece_state import PieceState
from coach.practice.progress import Progress
from coach.practice.rules import require_allowed
from coach.sessions.ports import Clock, PracticeLog

Told = Callable[[Event, Progress], None]


class Journal:
    """Writes events that the rules allow, keeps progress up to date, and tells who wants to know.

    An event is on disk before anybody is told.

    Parameters
    ----------
    log
        Opened for writing.
    clock
        For the moment of each event.
    """

    def __init__(self, log: PracticeLog, clock: Clock) -> None:
        self._log = log
        self._clock = clock
        self._progress = log.progress()
        self._told: list[Told] = []

    @property
    def progress(self) -> Progress:
        """Where the player stands now."""
        return self._progress

    @property
    def piece_in_hand(self) -> PieceState:
        """The piece that is worked on; ``ScopeError`` if there is none."""
        piece = self._progress.piece
        if piece is None:
            raise ScopeError("No piece is in hand: choose one first.")
        return piece

    def require_allowed(self, event: Event) -> None:
        """Raise the ``ScopeError`` that writing this event would raise; for asking before long work."""
        require_allowed(self._progress, event)

    def write(self, event: Event) -> LoggedEvent:
        """Write one event.

        Raises
        ------
        ScopeError
            If the event goes beyond what the piece allows; nothing is written.
        StoreError
            If it could not be written.
        """
        logged = self._log.append(event, self._clock.now())
        self._progress = fold(self._progress, logged)
        for told in tuple(self._told):
            told(event, self._progress)
        return logged

    def subscribe(self, told: Told) -> Callable[[], None]:
        """Be told of every event written from now on; the value returned ends it."""
        self._told.append(told)
        return lambda: self._told.remove(told) if told in self._told else None

    def close(self) -> None:
        """Let go of the log."""
        self._log.close()
