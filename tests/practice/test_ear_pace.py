"""The pace of the ear drills, learned from the answers."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.practice.ear_pace import LIKELY_S, EarPace
from coach.practice.events import DrillAnswered
from coach.practice.skills import SECONDS_BETWEEN, skills_of
from tests.drill_answers import all_drills

SKILLS = skills_of(all_drills())
SUNG = next(skill for skill in SKILLS if skill.text == "match-note:note:any:mid:voice")
PLAYED = next(skill for skill in SKILLS if skill.text == "match-note:note:any:mid:guitar")


def answered(took_s: float | None, skill: str = SUNG.text) -> DrillAnswered:
    return DrillAnswered("match-note", skill, 1, "voice", 0, True, 1.0, None, None, "sure", took_s=took_s)


def after(*took_s: float | None) -> EarPace:
    pace = EarPace()
    for each in took_s:
        pace = pace.after(answered(each))
    return pace


def test_before_any_answer_the_drill_takes_what_its_data_says() -> None:
    assert EarPace().seconds_of(SUNG) == SUNG.seconds
    assert EarPace().timed([SUNG, PLAYED]) == (SUNG, PLAYED)


def test_a_quick_player_gets_quick_drills_and_only_those_that_were_answered() -> None:
    pace = after(*[6.0] * 20)
    assert pace.seconds_of(SUNG) == pytest.approx(6.0 + SECONDS_BETWEEN, abs=1.5)
    assert pace.seconds_of(PLAYED) == PLAYED.seconds
    low = replace(SUNG, key=replace(SUNG.key, register=next(iter(type(SUNG.key.register)))))
    assert pace.seconds_of(low) == pace.seconds_of(SUNG)


def test_one_answer_is_believed_a_little_and_old_ones_are_forgotten() -> None:
    assert SUNG.seconds < after(40.0).seconds_of(SUNG) < 30.0
    assert after(*[40.0] * 30, *[6.0] * 30).seconds_of(SUNG) < 12.0


@given(st.lists(st.none() | st.floats(0, 4_000)))
def test_interruptions_and_old_answers_change_nothing(took_s: list[float | None]) -> None:
    likely = [each for each in took_s if each is not None and LIKELY_S[0] <= each <= LIKELY_S[1]]
    assert after(*took_s) == after(*likely)
    slowest = max([SUNG.seconds, *(each + SECONDS_BETWEEN for each in likely)])
    quickest = min([SUNG.seconds, *(each + SECONDS_BETWEEN for each in likely)])
    assert quickest - 1e-6 <= after(*took_s).seconds_of(SUNG) <= slowest + 1e-6
