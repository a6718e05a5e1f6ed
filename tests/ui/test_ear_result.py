from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from coach.bootstrap import make_services
from coach.practice.days import SkillSummary
from coach.practice.progress import Progress
from coach.ui.presenters.ear_plan import EarPlan, plan_for
from coach.ui.presenters.ear_result import REST, result_words
from coach.ui.presenters.ear_run import SetRun
from tests.fake_sound import SteppedClock

NOW = datetime(2031, 5, 4, 9, tzinfo=UTC)


def a_plan(tmp_path: Path) -> EarPlan:
    return plan_for(make_services(tmp_path), Progress())


def a_run(plan: EarPlan, right: int) -> SetRun:
    run = SetRun(plan, SteppedClock())
    run.asked, run.right = len(plan.set.items), right
    return run


def test_the_set_says_what_got_surer(tmp_path: Path) -> None:
    plan = a_plan(tmp_path)
    item = plan.set.items[0]
    text = item.skill.text
    before = {text: SkillSummary(text, answers=2, level=1, recent=(0.0, 1.0))}
    after = Progress(skills={text: SkillSummary(text, answers=3, level=2, recent=(0.0, 1.0, 1.0))})
    words = result_words(plan, before, after, a_run(plan, right=3), NOW)
    assert f"{len(plan.set.items)} drills, 3 right." in words
    assert f"Surer than before: {plan.title(item).lower().rstrip('?')}." in words
    assert "Tomorrow: " in words
    assert plan.title(item).lower().rstrip("?") in words.split("Tomorrow: ")[1]
    assert REST not in words


def test_nothing_surer_is_claimed_where_nothing_rose(tmp_path: Path) -> None:
    plan = a_plan(tmp_path)
    text = plan.set.items[0].skill.text
    same = SkillSummary(text, answers=2, level=1, recent=(1.0, 0.0))
    words = result_words(plan, {text: same}, Progress(skills={text: same}), a_run(plan, right=0), NOW)
    assert "Surer" not in words


def test_tomorrow_is_told_drill_by_drill(tmp_path: Path) -> None:
    plan = a_plan(tmp_path)
    words = result_words(plan, {}, Progress(), a_run(plan, right=0), NOW)
    assert words.endswith(
        "Tomorrow: same, higher or lower (new); match a note (new); keep a note in the ear (new)."
    )
    nothing = replace(plan, skills=())
    assert "Nothing has to come again" in result_words(nothing, {}, Progress(), a_run(plan, right=0), NOW)
