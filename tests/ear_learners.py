"""Simulated learners: the staircase, and a year of daily sets. Pure; what people do is stated, not known."""

import math
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random

from coach.practice.ear_piece import useful_skills
from coach.practice.ear_set import active_count, ear_set
from coach.practice.events import DrillAnswered
from coach.practice.schedule import apply
from coach.practice.schedule_state import ScheduleState
from coach.practice.skills import skills_of
from coach.practice.staircase import Staircase
from tests.drill_answers import TUNE, all_drills

STAIRCASE_SLOPE = 1.5
"""Logistic slope a level; two percent of all answers are lapses. Stated, not measured on people."""
LAPSES = 0.02
JUDGED_TRIALS = 12
TARGET = 0.5 ** (1 / 3)


def answers_right(rng: Random, level: int, truth: float, slope: float = STAIRCASE_SLOPE) -> bool:
    """A simulated learner who answers 79.4 % right on the level ``truth``."""
    share = TARGET / (1 - LAPSES)
    threshold = truth + math.log(share / (1 - share)) / slope
    return rng.random() < (1 - LAPSES) / (1 + math.exp(-slope * (threshold - level)))


def settled_level(rng: Random, truth: int, start: int, trials: int = 30, levels: int = 8) -> float:
    """Mean level of the last twelve trials."""
    stairs, seen = Staircase(start), []
    for _ in range(trials):
        seen.append(stairs.level)
        right = answers_right(rng, stairs.level, truth)
        stairs = stairs.after(right=right, most=levels)
    return sum(seen[-JUDGED_TRIALS:]) / JUDGED_TRIALS


def staircase(learners: int = 200) -> float:
    """Share of learners whose staircase settles within one level of the truth, from three levels away."""
    settled = 0
    for number in range(learners):
        rng = Random(number)
        truth = rng.randint(1, 8)
        start = rng.choice([level for level in (truth - 3, truth + 3) if 1 <= level <= 8])
        settled += abs(settled_level(rng, truth, start) - truth) <= 1
    return settled / learners


@dataclass(frozen=True, slots=True)
class Year:
    """What a simulated year came to."""

    sets: int
    longest_s: float
    longest_wait_sets: int
    first_level_met_day: int | None
    most_active: int
    met: int
    mean_items: float
    right_share: float


def year(seed: int, *, minutes: float = 4.0, missed: float = 0.3, days: int = 365) -> Year:
    """Practise for a year by the real schedule; skills are learnt by practice and partly forgotten."""
    rng = Random(seed)
    skills = skills_of(all_drills())
    useful = useful_skills(skills, TUNE)
    ability = {skill.text: rng.uniform(0.5, 3.0) for skill in skills}
    state, waits = ScheduleState(), Counter[str]()
    sets, longest_s, longest_wait, met_day, most_active, items, rights = 0, 0.0, 0, None, 0, 0, 0
    first = {skill.text for skill in skills if skill.first}
    for day in range(days):
        now = START + timedelta(days=day, minutes=rng.uniform(-180, 180))
        if day > 0 and rng.random() < missed:
            continue
        todays = ear_set(state, skills, now=now, minutes=minutes, useful=useful)
        sets, longest_s = sets + 1, max(longest_s, todays.seconds)
        asked = {item.skill.text for item in todays.items}
        for text, card in state.cards.items():
            waits[text] = waits[text] + 1 if card.due <= now and text not in asked else 0
        longest_wait = max(longest_wait, *waits.values(), 0) if waits else longest_wait
        for item in todays.items:
            text = item.skill.text
            right = answers_right(rng, item.level, ability[text])
            ability[text] = min(ability[text] + 0.12, item.skill.levels + 1.0)
            word = rng.choice(("shaky", "sure", "sure", "instant")) if right else "missed"
            event = DrillAnswered(
                item.skill.key.drill, text, item.level, "voice", 0, right, float(right), None, None, word
            )
            state = apply(state, event, now)
            items, rights = items + 1, rights + right
        most_active = max(most_active, active_count(state))
        if met_day is None and first <= set(state.cards):
            met_day = day + 1
    return Year(
        sets, longest_s, longest_wait, met_day, most_active, len(state.cards), items / sets, rights / items
    )


START = datetime(2030, 1, 1, 18, tzinfo=UTC)
