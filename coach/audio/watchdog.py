"""Whether a stream lives: a dead device raises nothing, its callbacks just stop coming."""

from enum import Enum

from coach.sessions.ports import StreamState

QUIET_S = 1.0
"""A running stream whose callback has not come for so long is lost."""

FIRST_WAITS_S = (5.0, 10.0, 20.0)
"""How long to wait for the first callback after each opening in a row (a virtual device needs 2 s)."""

FAILED_WAITS_S = (1.0, 2.0, 5.0)
"""How long to wait after each opening in a row that failed at once."""


class Advice(Enum):
    """What is to be done with the stream."""

    GO_ON = "go on"
    REOPEN = "reopen"


class Watchdog:
    """Follows the count of callbacks; knows no device and no clock.

    Parameters
    ----------
    now_s
        Steady-clock time of the opening.
    """

    def __init__(self, now_s: float) -> None:
        self.state = StreamState.WAITING
        self._count = 0
        self._changed_s = now_s
        self._attempt = 0
        self._wait_s = FIRST_WAITS_S[0]
        self._live = False

    def look(self, now_s: float, callbacks: int) -> Advice:
        """Judge by the number of callbacks so far (it may begin anew when the stream is opened again)."""
        if callbacks != self._count:
            self._count, self._changed_s = callbacks, now_s
            self._attempt, self._live = 0, True
            self.state = StreamState.RUNNING
            return Advice.GO_ON
        quiet_s = now_s - self._changed_s
        if quiet_s <= (QUIET_S if self._live else self._wait_s):
            return Advice.GO_ON
        self.state = StreamState.LOST
        return Advice.REOPEN

    def stood_still(self, seconds: float) -> None:
        """Nobody could look for so long: the whole program stood still, and the device is not to blame."""
        self._changed_s += seconds

    def opened(self, now_s: float, callbacks: int) -> None:
        """The stream was opened again."""
        self._expect(now_s, callbacks, FIRST_WAITS_S)

    def failed(self, now_s: float, callbacks: int) -> None:
        """The stream could not be opened again."""
        self._expect(now_s, callbacks, FAILED_WAITS_S)

    def _expect(self, now_s: float, callbacks: int, waits_s: tuple[float, ...]) -> None:
        self._wait_s = waits_s[min(self._attempt, len(waits_s) - 1)]
        self._attempt += 1
        self._live = False
        self._count, self._changed_s = callbacks, now_s
