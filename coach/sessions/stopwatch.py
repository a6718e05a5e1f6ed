"""The stopwatch: how long was practised, and what; the plan learns the player's own pace from it."""

from dataclasses import dataclass

from coach.practice.events import TimeSpent
from coach.practice.stages import Stage
from coach.sessions.journal import Journal
from coach.sessions.ports import Clock

LEAST_S = 3.0
"""A shorter look at a screen is no practice (ours)."""
MOST_S = 1800.0
"""A screen left open for longer is a tablet forgotten on the table (ours)."""


@dataclass(frozen=True, slots=True)
class Activity:
    """What is practised: ``kind`` is ``tune``, ``ear``, ``piece`` or ``rest``."""

    kind: str
    section: str | None = None
    stage: Stage | None = None


class Stopwatch:
    """Writes a `TimeSpent` event whenever the activity changes."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._activity: Activity | None = None
        self._since_s = 0.0
        self._owed: list[TimeSpent] = []

    def turn_to(self, activity: Activity | None, journal: Journal | None) -> None:
        """End what was practised and begin another; ``None`` begins nothing.

        Nothing is written without a journal: where the log could not be opened there is no practice either.

        Raises
        ------
        StoreError
            If the log takes nothing now; what it did not take is written with the next change.
        """
        now_s = self._clock.steady_s()
        ended, spent_s = self._activity, now_s - self._since_s
        self._activity, self._since_s = activity, now_s
        if ended is None or journal is None or spent_s < LEAST_S:
            return
        piece = journal.progress.in_hand if ended.kind == "piece" else None
        self._owed.append(TimeSpent(ended.kind, min(spent_s, MOST_S), piece, ended.section, ended.stage))
        while self._owed:
            journal.write(self._owed[0])
            self._owed.pop(0)
