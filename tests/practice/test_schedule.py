"""The schedule: ratings, cards, the forgetting curve, folding."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from random import Random

import pytest
from fsrs import Card as PackageCard
from fsrs import Rating, Scheduler, State

from coach.drills.data import SkillKey
from coach.practice.events import DrillAnswered, DrillPassed
from coach.practice.plain import from_plain, to_plain
from coach.practice.schedule import LONGEST_DAYS, apply, rating_of, starting_level
from coach.practice.schedule_state import ScheduleState, SkillCard
from coach.practice.staircase import Staircase

NOW = datetime(2031, 3, 1, 18, 30, tzinfo=UTC)
SKILL = "interval-echo:P5:up:any:voice"


def _answer(word: str = "sure", level: int = 1, skill: str = SKILL) -> DrillAnswered:
    right = word != "missed"
    return DrillAnswered(
        "interval-echo", skill, level, "voice", 1, right, float(right), 4.0 if right else None, 1.2, word
    )


def _card(level: int, misses: int = 0) -> SkillCard:
    return SkillCard(due=NOW, staircase=Staircase(level), misses=misses, reviews=3)


@pytest.mark.parametrize(
    ("word", "level", "misses", "rating"),
    [
        ("instant", 4, 0, Rating.Easy),
        ("sure", 4, 0, Rating.Good),
        ("shaky", 4, 0, Rating.Hard),
        ("missed", 4, 0, Rating.Hard),
        ("missed", 3, 0, Rating.Hard),
        ("missed", 2, 0, Rating.Again),
        ("missed", 4, 1, Rating.Again),
    ],
)
def test_the_documented_rule_from_grade_to_rating(word: str, level: int, misses: int, rating: Rating) -> None:
    assert rating_of(_card(4, misses), right=word != "missed", word=word, level=level) is rating


def test_cards_follow_the_package_itself() -> None:
    # The outside reference is fsrs's own scheduler, driven directly with the same ratings and times.
    scheduler = Scheduler(
        learning_steps=(), relearning_steps=(), maximum_interval=LONGEST_DAYS, enable_fuzzing=False
    )
    card = PackageCard(card_id=7, due=NOW)
    state, at = ScheduleState(), NOW
    steps = [
        ("sure", Rating.Good),
        ("instant", Rating.Easy),
        ("missed", Rating.Hard),
        ("missed", Rating.Again),
    ]
    for days, (word, rating) in enumerate(steps, start=1):
        state = apply(state, _answer(word, level=9), at)
        card, _ = scheduler.review_card(card, rating, at)
        ours = state.cards[SKILL]
        assert ours.due == card.due
        assert ours.stability == card.stability
        assert ours.difficulty == card.difficulty
        at += timedelta(days=days)
    assert card.state is State.Review


def test_no_interval_is_longer_than_a_season() -> None:
    state, at = ScheduleState(), NOW
    for _ in range(20):
        state = apply(state, _answer("instant"), at)
        assert timedelta(0) < state.cards[SKILL].due - at <= timedelta(days=LONGEST_DAYS)
        at = state.cards[SKILL].due


def test_what_is_let_pass_comes_tomorrow_and_is_no_fault() -> None:
    answered = apply(ScheduleState(), _answer(), NOW)
    card = answered.cards[SKILL]
    passed = apply(answered, DrillPassed("interval-echo", SKILL, 1), card.due).cards[SKILL]
    assert passed == replace(card, due=card.due + timedelta(hours=20))
    new = apply(ScheduleState(), DrillPassed("interval-echo", SKILL, 2), NOW).cards[SKILL]
    assert (new.reviews, new.misses, new.staircase.level) == (0, 0, 2)
    assert new.due > NOW


def test_an_easier_prompt_answered_right_leaves_the_level() -> None:
    state = ScheduleState({SKILL: _card(4)})
    assert apply(state, _answer("sure", level=3), NOW).cards[SKILL].staircase.level == 4
    assert apply(state, _answer("missed", level=3), NOW).cards[SKILL].staircase.level == 3
    assert apply(state, _answer("missed", level=6), NOW).cards[SKILL].staircase.level == 4


def test_a_skill_not_met_starts_below_its_siblings() -> None:
    cards = {
        f"interval-echo:{item}:up:any:voice": _card(level)
        for item, level in (("M2", 3), ("M3", 5), ("P4", 4))
    }
    state = ScheduleState(cards)
    assert starting_level(state, SkillKey.parse(SKILL)) == 3
    assert starting_level(state, SkillKey.parse(SKILL.replace("voice", "guitar"))) == 1


def test_moments_of_any_time_zone_count_as_what_they_are() -> None:
    there = NOW.astimezone(timezone(timedelta(hours=9)))
    assert apply(ScheduleState(), _answer(), there) == apply(ScheduleState(), _answer(), NOW)


def test_the_state_is_frozen_and_goes_through_json() -> None:
    rng, state = Random(2), ScheduleState()
    for number in range(60):
        skill = f"interval-echo:{rng.choice(('P5', 'M3', 'M2'))}:up:any:voice"
        before, kept = state, dict(state.cards)
        state = apply(
            state, _answer(rng.choice(("missed", "sure", "instant")), 2, skill), NOW + timedelta(days=number)
        )
        assert before.cards == kept
    assert from_plain(ScheduleState, json.loads(json.dumps(to_plain(state)))) == state


def test_the_same_events_give_the_same_state() -> None:
    def folded() -> ScheduleState:
        state = ScheduleState()
        for day in range(30):
            state = apply(state, _answer("sure" if day % 3 else "missed"), NOW + timedelta(days=day))
        return state

    assert folded() == folded()


def test_an_unknown_skill_name_of_an_old_log_is_kept() -> None:
    state = apply(ScheduleState(), _answer(skill="something else"), NOW)
    assert state.cards["something else"].reviews == 1
