"""The schedule as a value: one card a skill, rebuilt from the log."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from coach.practice.staircase import Staircase


@dataclass(frozen=True, slots=True)
class SkillCard:
    """What is known of one skill.

    Parameters
    ----------
    staircase
        Its level.
    stability, difficulty
        The scheduler's memory model: days until recall falls to 90 %, and 1 (easy) to 10.
    due
        When it should come again (UTC).
    last_at
        When it was last answered (UTC); ``None`` if it was only let pass.
    reviews
        Answers so far.
    misses
        Wrong answers in a row, up to now.
    word
        The last grade's word.
    """

    due: datetime
    staircase: Staircase = field(default_factory=Staircase)
    stability: float | None = None
    difficulty: float | None = None
    last_at: datetime | None = None
    reviews: int = 0
    misses: int = 0
    word: str = ""

    @property
    def interval_days(self) -> float:
        """Days from the last answer to the next one planned, 0 before any answer."""
        return 0.0 if self.last_at is None else (self.due - self.last_at).total_seconds() / 86_400


@dataclass(frozen=True, slots=True)
class ScheduleState:
    """All cards by the skill's text in the log. Frozen: `coach.practice.schedule.apply` gives a new one."""

    cards: Mapping[str, SkillCard] = field(default_factory=dict)
