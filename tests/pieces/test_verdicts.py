"""Verdicts: a decision table over posteriors, properties, and the exact check by a teacher's line.

The decision rule is this project's own contract (``coach check``); no published source.
"""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.hearing.evidence import Bars, PitchEvidence
from coach.music import Span
from coach.notation import LineKind
from coach.pieces.verdicts import (
    Nearby,
    Outcome,
    ReferenceNote,
    Verdict,
    judge,
    judge_by_reference,
)

LOWEST, COUNT = 28, 73
SPAN = Span(1.0, 1.5)
BARS = Bars(heard=0.9, octave=0.9, absent=0.05)


def table(shares: dict[int, float]) -> tuple[float, ...]:
    rest = (1.0 - sum(shares.values())) / COUNT
    return tuple(shares.get(LOWEST + k, 0.0) + rest for k in range(COUNT))


def found(
    shares: dict[int, float],
    *,
    earlier: dict[int, float] | None = None,
    later: dict[int, float] | None = None,
    line: LineKind = LineKind.MELODY,
    sounding: bool = True,
) -> PitchEvidence:
    posterior = table(shares) if sounding else (0.0,) * COUNT
    return PitchEvidence(
        line, SPAN, LOWEST, posterior, table(earlier or {}), table(later or {}), 1.0, BARS, sounding
    )


@pytest.mark.parametrize(
    ("shares", "asked", "outcome"),
    [
        ({64: 0.97}, 64, Outcome.HEARD),
        ({64: 0.97}, 76, Outcome.OTHER_OCTAVE),
        ({64: 0.97}, 52, Outcome.OTHER_OCTAVE),
        ({64: 0.97}, 65, Outcome.NOT_HEARD),
        ({64: 0.60, 67: 0.38}, 64, Outcome.CANNOT_TELL),
        ({64: 0.60, 67: 0.38}, 67, Outcome.CANNOT_TELL),
        ({64: 0.60, 76: 0.38}, 64, Outcome.CANNOT_TELL),
        ({64: 0.60, 67: 0.38}, 60, Outcome.NOT_HEARD),
        ({64: 0.50, 76: 0.47}, 52, Outcome.OTHER_OCTAVE),
    ],
)
def test_the_answer_follows_the_probability(shares: dict[int, float], asked: int, outcome: Outcome) -> None:
    assert judge(found(shares), asked).outcome is outcome


def test_a_pitch_beyond_the_evidence_is_denied_only_for_a_sure_other() -> None:
    assert judge(found({64: 0.99}), 110).outcome is Outcome.NOT_HEARD
    assert judge(found({64: 0.6, 65: 0.39}), 110).outcome is Outcome.CANNOT_TELL
    assert judge(found({64: 0.99}), 112).outcome is Outcome.CANNOT_TELL
    assert judge(found({38: 0.99}, line=LineKind.BASS), 26).outcome is Outcome.CANNOT_TELL
    assert judge(found({31: 0.99}, line=LineKind.BASS), 19).outcome is Outcome.OTHER_OCTAVE


def test_silence_tells_nothing() -> None:
    verdict = judge(found({}, sounding=False), 64)
    assert (verdict.outcome, verdict.confidence) == (Outcome.CANNOT_TELL, 0.0)


def test_nearby_says_where_the_asked_pitch_is_right() -> None:
    assert judge(found({64: 0.99}, earlier={65: 0.95}), 65).nearby is Nearby.EARLIER
    assert judge(found({64: 0.99}, later={65: 0.95}), 65).nearby is Nearby.LATER
    assert judge(found({64: 0.99}, later={65: 0.5}), 65).nearby is None
    assert judge(found({64: 0.99}, later={64: 0.95}), 64).nearby is None


def test_a_bass_played_an_octave_up_is_heard_in_its_register() -> None:
    low = found({40: 0.97}, line=LineKind.BASS)
    assert judge(low, 52).outcome is Outcome.OTHER_OCTAVE
    raised = judge(low, 52, register_octaves=1)
    assert (raised.outcome, raised.midi) == (Outcome.HEARD, 52)


def test_the_confidence_is_the_probability_of_the_answer() -> None:
    evidence = found({64: 0.97})
    assert judge(evidence, 64).confidence == pytest.approx(evidence.of(64))
    assert judge(evidence, 65).confidence == pytest.approx(
        1 - sum(evidence.of(m) for m in range(29, 101, 12))
    )


def test_a_verdict_has_room_for_no_other_pitch() -> None:
    numbers = [f.name for f in dataclasses.fields(Verdict) if f.type in {int, "int"}]
    assert numbers == ["midi"]


@given(
    st.lists(st.floats(0.0, 1.0), min_size=COUNT, max_size=COUNT).filter(lambda v: sum(v) > 0.1),
    st.integers(0, 127),
)
def test_an_answer_never_contradicts_the_odds(weights: list[float], asked: int) -> None:
    total = sum(weights)
    evidence = PitchEvidence(
        LineKind.MELODY, SPAN, LOWEST, tuple(w / total for w in weights), table({}), table({}), 1.0, BARS
    )
    verdict = judge(evidence, asked)
    assert 0.0 <= verdict.confidence <= 1.0
    match verdict.outcome:
        case Outcome.HEARD:
            assert evidence.of(asked) >= BARS.heard
        case Outcome.OTHER_OCTAVE:
            assert evidence.of(asked) <= 1 - BARS.octave + 1e-9
        case Outcome.NOT_HEARD:
            assert evidence.of(asked) <= BARS.absent
        case Outcome.CANNOT_TELL:
            assert evidence.of(asked) < BARS.heard


def test_misuse_is_refused() -> None:
    with pytest.raises(ValueError, match="0 to 127"):
        judge(found({}), 128)
    with pytest.raises(ValueError, match="three octaves"):
        judge(found({}), 60, register_octaves=4)


REFERENCE = (
    ReferenceNote(Span(0.5, 1.0), 62),
    ReferenceNote(Span(1.0, 1.5), 64),
    ReferenceNote(Span(1.5, 2.0), 65),
)


@pytest.mark.parametrize(
    ("asked", "outcome", "nearby"),
    [
        (64, Outcome.HEARD, None),
        (76, Outcome.OTHER_OCTAVE, None),
        (62, Outcome.NOT_HEARD, Nearby.EARLIER),
        (65, Outcome.NOT_HEARD, Nearby.LATER),
        (70, Outcome.NOT_HEARD, None),
    ],
)
def test_a_teachers_line_answers_exactly(asked: int, outcome: Outcome, nearby: Nearby | None) -> None:
    verdict = judge_by_reference(LineKind.MELODY, SPAN, REFERENCE, asked)
    assert (verdict.outcome, verdict.nearby, verdict.exact, verdict.confidence) == (
        outcome,
        nearby,
        True,
        1.0,
    )


def test_a_teachers_rest_tells_nothing() -> None:
    verdict = judge_by_reference(LineKind.MELODY, Span(5.0, 6.0), REFERENCE, 64)
    assert (verdict.outcome, verdict.exact) == (Outcome.CANNOT_TELL, True)


def test_every_answer_has_a_sentence_without_a_pitch() -> None:
    for outcome in Outcome:
        sentence = Verdict(LineKind.MELODY, SPAN, 64, outcome, None, 0.9).sentence
        assert sentence.endswith(".")
        assert "64" not in sentence
        assert "teacher" not in sentence


def test_an_exact_answer_says_so() -> None:
    for outcome in Outcome:
        for nearby in (None, *Nearby) if outcome is Outcome.NOT_HEARD else (None,):
            verdict = Verdict(LineKind.MELODY, SPAN, 64, outcome, nearby, 1.0, exact=True)
            assert verdict.sentence.endswith(", by your teacher's line.")
            assert "recording" not in verdict.sentence
