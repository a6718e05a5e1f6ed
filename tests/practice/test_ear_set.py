"""The day's set: within the minutes, fair, few new ones, easy at the end, for a whole year."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.drills.kinds import Kind
from coach.practice.ear_piece import useful_skills
from coach.practice.ear_set import MOST_ACTIVE, Why, active_count, ear_set
from coach.practice.schedule_state import ScheduleState, SkillCard
from coach.practice.skills import skills_of
from coach.practice.staircase import Staircase
from tests.drill_answers import TUNE, all_drills
from tests.ear_learners import year

NOW = datetime(2031, 3, 1, 18, 30, tzinfo=UTC)
SKILLS = skills_of(all_drills())
LONGEST_WAIT_SETS = 10
LEVEL_ONE_DAYS = 60


def _card(days_due: float, interval: float = 3.0, *, misses: int = 0, level: int = 3) -> SkillCard:
    due = NOW - timedelta(days=days_due)
    last = due - timedelta(days=interval)
    return SkillCard(due, Staircase(level), interval, 5.0, last, 4, misses, "sure")


def _state(days_due: dict[int, float]) -> ScheduleState:
    return ScheduleState({SKILLS[index].text: _card(days) for index, days in days_due.items()})


@given(
    cards=st.dictionaries(st.integers(0, len(SKILLS) - 1), st.floats(-30, 60), max_size=120),
    minutes=st.floats(0, 15),
)
def test_the_set_never_takes_longer_than_its_minutes(cards: dict[int, float], minutes: float) -> None:
    todays = ear_set(_state(cards), SKILLS, now=NOW, minutes=minutes)
    assert todays.seconds <= minutes * 60
    assert all(1 <= item.level <= item.skill.levels for item in todays.items)


def test_missed_weeks_do_not_make_a_longer_set() -> None:
    everything_due = _state(dict.fromkeys(range(90), 40.0))
    todays = ear_set(everything_due, SKILLS, now=NOW, minutes=4)
    assert todays.seconds <= 240
    assert {item.why for item in todays.items} <= {Why.DUE, Why.EASY}


def test_the_longest_due_comes_first_and_the_useful_next() -> None:
    state = _state({30: 10.0, 31: 0.5, 32: 0.4, 33: 6.0})
    surest = SKILLS[60].text
    state = ScheduleState({**state.cards, surest: _card(-20.0, interval=40.0)})
    todays = ear_set(state, SKILLS, now=NOW, minutes=5, useful={SKILLS[32].text})
    due = [item.skill.order for item in todays.items if item.why is Why.DUE]
    assert sorted(due) == [30, 31, 32, 33]
    assert due.index(30) < due.index(33) < due.index(32) < due.index(31)
    assert todays.items[-1].skill.text == surest


def test_the_last_one_is_easy() -> None:
    todays = ear_set(_state({3: 1.0, 4: 1.0, 5: -20.0}), SKILLS, now=NOW, minutes=4)
    last = todays.items[-1]
    assert last.why is Why.EASY
    assert last.level == 2


def test_the_first_day_brings_a_few_new_ones_twice_from_the_beginning() -> None:
    todays = ear_set(ScheduleState(), SKILLS, now=NOW, minutes=4)
    new = [item.skill.order for item in todays.items if item.why is Why.NEW]
    assert len(new) == 5
    kinds = [SKILLS[order].kind for order in sorted(new)]
    assert kinds == [*[Kind.SAME_HIGHER_LOWER] * 2, *[Kind.MATCH_NOTE] * 2, Kind.ECHO_NOTE]
    assert all(item.why in {Why.NEW, Why.AGAIN} for item in todays.items)
    assert all(item.level == 1 for item in todays.items)


def test_no_new_ones_while_much_is_due_or_a_hundred_are_in_learning() -> None:
    much = ear_set(_state(dict.fromkeys(range(40), 1.0)), SKILLS, now=NOW, minutes=4)
    assert all(item.why is not Why.NEW for item in much.items)
    full = _state(dict.fromkeys(range(MOST_ACTIVE), -1.0))
    assert active_count(full) == MOST_ACTIVE
    assert all(item.why is not Why.NEW for item in ear_set(full, SKILLS, now=NOW, minutes=4).items)


def test_never_three_of_one_kind_running_where_others_wait() -> None:
    todays = ear_set(_state(dict.fromkeys(range(65), 1.0)), SKILLS, now=NOW, minutes=10)
    kinds = [item.skill.kind for item in todays.items]
    runs = [a == b == c for (a, b), (_, c) in zip(pairwise(kinds), pairwise(kinds[1:]), strict=False)]
    assert sum(runs[:-4]) == 0


def test_without_a_voice_the_set_is_played_and_tapped() -> None:
    played = [skill for skill in SKILLS if skill.open_to(can_sing=False)]
    todays = ear_set(ScheduleState(), played, now=NOW, minutes=4)
    assert todays.items
    assert all(item.skill.key.by != "voice" for item in todays.items)


def test_level_one_comes_first_and_kinds_in_their_order() -> None:
    firsts = [skill.first for skill in SKILLS]
    assert firsts == sorted(firsts, reverse=True)
    for part in (True, False):
        orders = [skill.kind.order for skill in SKILLS if skill.first is part]
        assert orders == sorted(orders)
    assert {skill.kind for skill in SKILLS if skill.first} == set(Kind)
    assert len({skill.text for skill in SKILLS}) == len(SKILLS)


@pytest.mark.parametrize("minutes", [3.0, 4.0])
def test_a_year_with_a_third_of_the_days_missed(minutes: float) -> None:
    result = year(11, minutes=minutes)
    assert result.longest_s <= minutes * 60
    assert result.longest_wait_sets <= LONGEST_WAIT_SETS
    assert result.first_level_met_day is not None
    assert result.first_level_met_day <= LEVEL_ONE_DAYS
    assert result.most_active <= MOST_ACTIVE


def test_the_piece_asks_for_its_own_intervals() -> None:
    useful = useful_skills(SKILLS, TUNE)
    assert "interval-echo:M2:down:any:voice" in useful
    assert "interval-echo:A4:up:any:voice" not in useful
    assert all(skill.text in useful for skill in SKILLS if skill.kind is Kind.PIECE_MOVES)
    assert not useful_skills(SKILLS, ())
    bass = useful_skills(SKILLS, TUNE, bass_next=True) - useful
    assert {text.split(":")[0] for text in bass} == {"bass-moves", "tap-bass-change", "chord-outer"}
