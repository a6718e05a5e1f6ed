"""The skills of all drills in the order in which they are met, each with what planning must know of it."""

from collections.abc import Iterable
from dataclasses import dataclass

from coach.drills.data import Drill, SkillKey
from coach.drills.kinds import By, Kind

SECONDS_BETWEEN = 3.0
"""Between one drill and the next: the grade is seen, a breath is taken."""
TAP = "tap"


@dataclass(frozen=True, slots=True)
class Skill:
    """One card of the schedule.

    Parameters
    ----------
    key
        What it is about.
    kind
        Of its drill.
    order
        Place in the order of meeting, from 0.
    first
        Whether it belongs to level one: met before all skills that do not.
    seconds
        What one prompt, its answer and the moment after take.
    levels
        The hardest level.
    """

    key: SkillKey
    kind: Kind
    order: int
    first: bool
    seconds: float
    levels: int

    @property
    def text(self) -> str:
        """As in the log."""
        return self.key.text

    def open_to(self, *, can_sing: bool) -> bool:
        """Whether it can be answered now; guitar and taps always can."""
        return can_sing or self.key.by != By.VOICE


def skills_of(drills: Iterable[Drill]) -> tuple[Skill, ...]:
    """All skills, those of level one first, each part by kind (in the order of `Kind`) and item.

    Within a kind, all variants of an easy item come before the next item. Common practice, no source.
    """
    listed = [
        (drill, key, key.item in drill.items[: drill.first])
        for drill in sorted(drills, key=lambda drill: drill.kind.order)
        for key in drill.skills()
    ]
    ordered = [entry for entry in listed if entry[2]] + [entry for entry in listed if not entry[2]]
    return tuple(
        Skill(key, drill.kind, order, first, drill.seconds + SECONDS_BETWEEN, len(drill.levels))
        for order, (drill, key, first) in enumerate(ordered)
    )
