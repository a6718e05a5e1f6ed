"""Today's ear set, and its prompts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random

from coach.drills.data import Drill
from coach.drills.kinds import By, Kind
from coach.drills.making import make_prompt
from coach.drills.prompt import Prompt
from coach.practice.ear_piece import useful_skills
from coach.practice.ear_set import EarSet, SetItem, Why, ear_set
from coach.practice.plan import ear_minutes
from coach.practice.progress import Progress
from coach.practice.schedule_state import ScheduleState
from coach.practice.settings import Settings
from coach.practice.skills import Skill, skills_of
from coach.practice.stages import Stage
from coach.sessions.ear.library import context_of, readable_drills
from coach.sessions.ear.tunes import tune_ahead
from coach.sessions.services import Services

LEAST_LEFT_SHARE = 0.25
"""Where less of the minutes is left, the set was done; who comes again wants another (our own choice)."""


@dataclass(frozen=True, slots=True)
class EarPlan:
    """Everything that asking drills needs, as it stood when the plan was made.

    Parameters
    ----------
    drills
        By name.
    melody
        The tune of the piece (MIDI) that the drills from the piece prepare.
    minutes
        The set ends within these.
    planned
        Those that the day's plan has for a whole set.
    faults
        What is wrong with own drills that were left out.
    skills, useful
        All that can be asked now, and which of these the piece asks for.
    """

    drills: dict[str, Drill]
    set: EarSet
    settings: Settings
    voice: tuple[int, ...] | None
    melody: tuple[int, ...]
    minutes: float
    planned: int = 0
    faults: tuple[str, ...] = ()
    skills: tuple[Skill, ...] = ()
    useful: frozenset[str] = frozenset()

    def prompt(self, item: SetItem, rng: Random) -> Prompt:
        """Make one prompt of the set."""
        context = context_of(self.settings, voice=self.voice, melody=self.melody)
        drill = self.drills[item.skill.key.drill]
        return make_prompt(drill, item.level, rng, context, skill=item.skill.key)

    def tomorrow(self, schedule: ScheduleState, now: datetime) -> EarSet:
        """The set a day from now, as far as it is known today."""
        later = now + timedelta(days=1)
        return ear_set(schedule, self.skills, now=later, minutes=self.planned, useful=self.useful)

    def title(self, item: SetItem) -> str:
        """The drill's title."""
        return self.drills[item.skill.key.drill].title


def plan_for(services: Services, progress: Progress) -> EarPlan:
    """Make today's plan; own drills that cannot be read are left out and told."""
    settings = services.current_settings()
    drills, faults = readable_drills(services.exercises, services.data_folder)
    melody = tune_ahead(services, progress)
    can = [skill for skill in skills_of(drills) if _open(skill, melody, can_sing=settings.can_sing)]
    skills = progress.ear_pace.timed(can)
    today = services.clock.today()
    planned = ear_minutes(progress, settings, today)
    minutes = _minutes_left(progress, planned, today)
    useful = useful_skills(skills, melody, bass_next=_bass_next(progress))
    now = services.clock.now()
    chosen = ear_set(progress.schedule, skills, now=now, minutes=minutes, useful=useful)
    by_name = {drill.name: drill for drill in drills}
    return EarPlan(
        by_name, chosen, settings, progress.voice, melody, minutes, planned, faults, skills, useful
    )


def one_drill(plan: EarPlan, name: str) -> EarSet:
    """A set of one: a drill's first skill that the player can answer now, on its easiest level."""
    skills = skills_of([plan.drills[name]])
    can = [skill for skill in skills if plan.settings.can_sing or skill.key.by != By.VOICE]
    skill = (can or skills)[0]
    return EarSet((SetItem(skill, 1, Why.NEW),))


def _minutes_left(progress: Progress, minutes: int, today: date) -> float:
    """What is left of today's minutes where a set was broken off; all of them for a first or another set."""
    left = minutes - progress.day(today).ear_s / 60.0
    return left if left >= LEAST_LEFT_SHARE * minutes else float(minutes)


def _bass_next(progress: Progress) -> bool:
    section = progress.piece.next_section if progress.piece is not None else None
    return section is not None and section.next_stage is Stage.BASS


def _open(skill: Skill, melody: Sequence[int], *, can_sing: bool) -> bool:
    if skill.kind is Kind.PIECE_MOVES and not melody:
        return False
    return skill.open_to(can_sing=can_sing)
