"""The fold of a day's sums and of the skills."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from coach.practice.days import RECENT_ANSWERS, Day, SkillSummary
from coach.practice.events import (
    DrillAnswered,
    DrillPassed,
    Event,
    HintTaken,
    LineSettled,
    NoteChecked,
    PlayedSettled,
    PlayedThrough,
    TimeSpent,
    TogetherSettled,
)


def fold_day(day: Day, event: Event) -> Day:  # noqa: PLR0911 - one return a case
    """The sums of a day after an event; most events change none."""
    match event:
        case TimeSpent(activity=activity, seconds=seconds):
            return _with_time(day, activity, seconds)
        case DrillAnswered(right=right):
            return replace(day, drills=day.drills + 1, drills_right=day.drills_right + right)
        case NoteChecked(verdict=verdict):
            return replace(day, checks=day.checks + 1, checks_heard=day.checks_heard + (verdict == "heard"))
        case HintTaken():
            return replace(day, hints=day.hints + 1)
        case LineSettled() | TogetherSettled() | PlayedSettled():
            return replace(day, settled=day.settled + 1)
        case PlayedThrough():
            return replace(day, play_throughs=day.play_throughs + 1)
        case _:
            return day


def _with_time(day: Day, activity: str, seconds: float) -> Day:
    match activity:
        case "tune":
            return replace(day, tune_s=day.tune_s + seconds)
        case "ear":
            return replace(day, ear_s=day.ear_s + seconds)
        case "rest":
            return replace(day, rest_s=day.rest_s + seconds)
        case _:
            return replace(day, piece_s=day.piece_s + seconds)


def fold_skill(
    skills: Mapping[str, SkillSummary], event: DrillAnswered | DrillPassed, day: date
) -> Mapping[str, SkillSummary]:
    """The skills after a drill was answered or passed."""
    old = skills.get(event.skill) or SkillSummary(event.skill)
    if isinstance(event, DrillPassed):
        return {**skills, event.skill: replace(old, passed=old.passed + 1)}
    new = replace(
        old,
        answers=old.answers + 1,
        right=old.right + event.right,
        level=event.level,
        best_level=max(old.best_level, event.level) if event.right else old.best_level,
        recent=(*old.recent, event.credit)[-RECENT_ANSWERS:],
        last_on=day,
    )
    return {**skills, event.skill: new}


def merged_days(earlier: tuple[Day, ...], day: Day) -> tuple[Day, ...]:
    """Days in order with one more put in; rare (a clock that was put back), so it may be slow."""
    return tuple(sorted((*earlier, day), key=lambda each: each.day))
