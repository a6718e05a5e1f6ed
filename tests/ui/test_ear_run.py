"""The set stays within its minutes, whoever answers."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach.bootstrap import make_services
from coach.practice.ear_set import EarSet, Why
from coach.practice.progress import Progress
from coach.practice.schedule_state import ScheduleState, SkillCard
from coach.practice.staircase import Staircase
from coach.ui.presenters.ear_plan import EarPlan, plan_for
from coach.ui.presenters.ear_run import SetRun
from tests.fake_sound import SteppedClock

NOTHING = ScheduleState()


@pytest.fixture
def plan(tmp_path: Path) -> EarPlan:
    return plan_for(make_services(tmp_path), Progress())


def gone_through(plan: EarPlan, seconds: float) -> tuple[SetRun, SteppedClock]:
    """A run in which each drill takes so long."""
    clock = SteppedClock()
    run = SetRun(plan, clock)
    item = run.first(NOTHING)
    while item is not None:
        clock.sleep(seconds)
        run.over(right=True)
        item = run.next(NOTHING)
    return run, clock


def test_the_first_day_has_a_dozen_drills_within_its_few_minutes(plan: EarPlan) -> None:
    assert len(plan.set.items) >= 12
    assert plan.set.seconds <= 60 * plan.minutes
    assert plan.minutes <= 5


def test_who_is_quick_does_them_all(plan: EarPlan) -> None:
    run, _ = gone_through(plan, 8.0)
    assert (run.asked, run.right, run.waiting) == (len(plan.set.items), len(plan.set.items), 0)


@pytest.mark.parametrize("seconds", [20.0, 35.0, 60.0])
def test_who_is_slow_ends_in_time_and_the_rest_waits(plan: EarPlan, seconds: float) -> None:
    run, clock = gone_through(plan, seconds)
    quickest = min(item.skill.seconds for item in plan.set.items)
    assert run.waiting > 0
    # Only the drill that is on when time runs out may take longer than was thought.
    assert clock.steady_s() <= 60 * plan.minutes + max(0.0, seconds - quickest)


def test_the_easy_one_still_ends_a_set_that_is_cut_short(plan: EarPlan) -> None:
    items = (*plan.set.items[:-1], replace(plan.set.items[-1], why=Why.EASY))
    plan = replace(plan, set=EarSet(items), minutes=1.0)
    clock = SteppedClock()
    run = SetRun(plan, clock)
    run.first(NOTHING)
    clock.sleep(60.0 - items[-1].skill.seconds - 0.5)
    longer = replace(items[1], skill=replace(items[1].skill, seconds=59.0))
    run._plan = replace(plan, set=EarSet((items[0], longer, *items[2:])))
    item = run.next(NOTHING)
    assert item is not None
    assert (item.why, run.number) == (Why.EASY, len(items))
    assert run.next(NOTHING) is None


def test_pauses_do_not_count(plan: EarPlan) -> None:
    clock = SteppedClock()
    run = SetRun(plan, clock)
    run.first(NOTHING)
    clock.sleep(5.0)
    run.paused()
    clock.sleep(600.0)
    assert run.spent_s == pytest.approx(5.0)
    run.gone_on()
    clock.sleep(2.0)
    assert run.spent_s == pytest.approx(7.0)


def test_a_skill_that_comes_again_is_asked_on_the_level_it_has_reached(plan: EarPlan) -> None:
    run = SetRun(plan, SteppedClock())
    first = run.first(NOTHING)
    assert first is not None
    now = make_card(3)
    later = next(i for i, item in enumerate(plan.set.items) if i and item.skill == first.skill)
    for _ in range(later - 1):
        run.next(NOTHING)
    again = run.next(ScheduleState({first.skill.text: now}))
    assert again is not None
    assert (first.level, again.level) == (1, 3)


def make_card(level: int) -> SkillCard:
    return SkillCard(datetime(2031, 1, 1, tzinfo=UTC), Staircase(level))
