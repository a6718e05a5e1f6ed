"""How long a drill takes this player: learned from the answers, so that the day's set fits its minutes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from coach.practice.events import DrillAnswered
from coach.practice.skills import SECONDS_BETWEEN, Skill

PRIOR_ANSWERS = 2
"""What the drill's own data says weighs as much as so many answers. Our own assumption."""
REMEMBERED = 8
"""Later answers count more: each moves the mean by at least an eighth. Our own assumption."""
LIKELY_S = (3.0, 120.0)
"""What took less was no answer, what took longer was an interruption. Our own assumption."""


@dataclass(frozen=True, slots=True)
class DrillPace:
    """Mean seconds from the first sound of a prompt to its grade, over so many answers."""

    seconds: float = 0.0
    answers: int = 0


@dataclass(frozen=True, slots=True)
class EarPace:
    """The pace of each drill, by drill and what it is answered with (``interval-echo:voice``)."""

    drills: Mapping[str, DrillPace] = field(default_factory=dict)

    def after(self, event: DrillAnswered) -> "EarPace":
        """The pace after one more answer; old answers without a time change nothing."""
        took_s = event.took_s
        if took_s is None or not LIKELY_S[0] <= took_s <= LIKELY_S[1]:
            return self
        name = _name(event.skill)
        old = self.drills.get(name, DrillPace())
        step = (took_s - old.seconds) / min(old.answers + 1, REMEMBERED)
        return EarPace({**self.drills, name: DrillPace(old.seconds + step, old.answers + 1)})

    def seconds_of(self, skill: Skill) -> float:
        """What a drill takes with the moment after it: as its data says, then as this player took."""
        known = self.drills.get(_name(skill.text))
        if known is None:
            return skill.seconds
        answers = min(known.answers, REMEMBERED)
        own = known.seconds + SECONDS_BETWEEN
        return (PRIOR_ANSWERS * skill.seconds + answers * own) / (PRIOR_ANSWERS + answers)

    def timed(self, skills: Iterable[Skill]) -> tuple[Skill, ...]:
        """The same skills with this player's seconds."""
        return tuple(replace(skill, seconds=self.seconds_of(skill)) for skill in skills)


def _name(skill: str) -> str:
    parts = skill.split(":")
    return f"{parts[0]}:{parts[-1]}"
