"""What was done on one day, and how sure a skill is: the small sums that the log screen shows."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Day:
    """The sums of one day; times in seconds of practice."""

    day: date
    tune_s: float = 0.0
    ear_s: float = 0.0
    piece_s: float = 0.0
    rest_s: float = 0.0
    drills: int = 0
    drills_right: int = 0
    checks: int = 0
    checks_heard: int = 0
    hints: int = 0
    settled: int = 0
    play_throughs: int = 0

    @property
    def practice_s(self) -> float:
        """All time but the rests."""
        return self.tune_s + self.ear_s + self.piece_s

    @property
    def practised(self) -> bool:
        """Whether anything was practised."""
        return self.practice_s > 0 or bool(self.drills or self.checks or self.settled or self.play_throughs)


RECENT_ANSWERS = 12
"""How many last answers tell how sure a skill is now."""


@dataclass(frozen=True, slots=True)
class SkillSummary:
    """All answers to one skill in a few numbers.

    Parameters
    ----------
    level
        Of the last answer.
    recent
        Credits (0 to 1) of the last answers, oldest first.
    passed
        How often the player let it pass.
    """

    skill: str
    answers: int = 0
    right: int = 0
    level: int = 0
    recent: tuple[float, ...] = ()
    passed: int = 0
    last_on: date | None = None
    best_level: int = 0

    @property
    def sureness(self) -> float | None:
        """Mean credit of the recent answers, 0 to 1; ``None`` before the first."""
        return sum(self.recent) / len(self.recent) if self.recent else None
