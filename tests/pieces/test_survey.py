"""First-listen advice: rules of thumb of teachers (common practice, no source), and how they may be told."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.pieces.survey import Advice, SurveyFacts, advise

EASY = SurveyFacts(80.0, 2.0, 2.4, 0.9, 0.85, 0.9)
HARD = SurveyFacts(180.0, 8.0, 7.0, 0.3, 0.3, 0.1)
ORDER = [Advice.LATER, Advice.POSSIBLE, Advice.GOOD]

FACTS = st.builds(
    SurveyFacts,
    st.floats(40, 210),
    st.floats(0, 12),
    st.floats(0, 10),
    st.none() | st.floats(0, 1),
    st.none() | st.floats(0, 1),
    st.none() | st.floats(0, 1),
)


def test_a_calm_clear_piece_is_a_good_first_one() -> None:
    found = advise(EASY)
    assert found.advice is Advice.GOOD
    assert found.reasons[0] == "The tune stands out clearly."


def test_a_fast_dense_unclear_one_is_for_later() -> None:
    found = advise(HARD)
    assert found.advice is Advice.LATER
    assert any("hard to make out" in reason for reason in found.reasons)


@pytest.mark.parametrize(
    "change",
    [{"tempo_bpm": 150.0}, {"voices": 8.0}, {"bass_clarity": 0.2}, {"checkable_share": 0.1}],
)
def test_one_thing_somewhat_against_it_leaves_it_good(change: dict[str, float]) -> None:
    assert advise(replace(EASY, **change)).advice is Advice.GOOD


def test_one_thing_much_against_it_makes_it_possible_and_is_told() -> None:
    found = advise(replace(EASY, notes_per_s=8.0))
    assert found.advice is Advice.POSSIBLE
    assert "very quickly" in found.reasons[0]
    assert found.reasons[-1] == "The tune stands out clearly."


@given(FACTS)
def test_the_advice_is_one_of_three_with_at_most_three_reasons(facts: SurveyFacts) -> None:
    found = advise(facts)
    assert found.advice.value in {"good first piece", "possible", "later"}
    assert len(found.reasons) <= 3
    assert len(set(found.reasons)) == len(found.reasons)
    assert all(reason.endswith(".") for reason in found.reasons)


@given(FACTS, st.floats(0, 6))
def test_more_notes_never_make_it_better(facts: SurveyFacts, more: float) -> None:
    denser = replace(facts, notes_per_s=facts.notes_per_s + more)
    assert ORDER.index(advise(denser).advice) <= ORDER.index(advise(facts).advice)


@given(FACTS, st.floats(0, 1))
def test_a_clearer_tune_never_makes_it_worse(facts: SurveyFacts, by: float) -> None:
    clearer = replace(facts, melody_clarity=min(1.0, (facts.melody_clarity or 0.0) + by))
    unclear = replace(facts, melody_clarity=facts.melody_clarity or 0.0)
    assert ORDER.index(advise(clearer).advice) >= ORDER.index(advise(unclear).advice)
