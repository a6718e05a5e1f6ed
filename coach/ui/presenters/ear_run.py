"""Going through the day's ear set within its minutes, however long the answers take."""

from dataclasses import replace

from coach.practice.ear_set import SetItem, Why, asked_level
from coach.practice.schedule_state import ScheduleState
from coach.sessions.ports import Clock
from coach.ui.presenters.ear_plan import EarPlan


class SetRun:
    """Which drill comes next.

    When the minutes are used up, what is left waits until tomorrow; the easy one ends the set if there is
    time for it. Pauses do not count.

    Parameters
    ----------
    plan
        The set and its minutes.
    clock
        The steady clock.
    """

    def __init__(self, plan: EarPlan, clock: Clock) -> None:
        self._plan, self._clock = plan, clock
        self._at = 0
        self._began_s = clock.steady_s()
        self._paused_at_s: float | None = None
        self.asked = self.right = 0

    @property
    def number(self) -> int:
        """Which drill of the set is on, from 1."""
        return self._at + 1

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self._plan.set.items)

    @property
    def waiting(self) -> int:
        """How many there was no time for, once the set is over."""
        return self.count - self.asked

    @property
    def spent_s(self) -> float:
        """Time since the first prompt without the pauses."""
        now_s = self._clock.steady_s() if self._paused_at_s is None else self._paused_at_s
        return now_s - self._began_s

    def first(self, schedule: ScheduleState) -> SetItem | None:
        """The first drill; ``None`` where there is none."""
        return self._item(schedule)

    def next(self, schedule: ScheduleState) -> SetItem | None:
        """The next drill for which there is time; ``None`` when the set is over."""
        self._at += 1
        if self._at >= self.count:
            return None
        items, left_s = self._plan.set.items, 60.0 * self._plan.minutes - self.spent_s
        if items[self._at].skill.seconds > left_s:
            last = items[-1]
            if last.why is not Why.EASY or last.skill.seconds > left_s:
                return None
            self._at = self.count - 1
        return self._item(schedule)

    def over(self, *, right: bool) -> None:
        """A drill was answered or let pass."""
        self.right += right

    def paused(self) -> None:
        """The clock stands, until `gone_on`."""
        if self._paused_at_s is None:
            self._paused_at_s = self._clock.steady_s()

    def gone_on(self) -> None:
        """The clock runs again; nothing if it ran."""
        if self._paused_at_s is not None:
            self._began_s += self._clock.steady_s() - self._paused_at_s
            self._paused_at_s = None

    def _item(self, schedule: ScheduleState) -> SetItem | None:
        """The drill that is on, on the level that today's answers have led to."""
        if self._at >= self.count:
            return None
        self.asked += 1
        item = self._plan.set.items[self._at]
        return replace(item, level=asked_level(schedule, item.skill, item.why))
