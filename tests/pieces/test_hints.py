"""The hint ladder: each step only when the evidence is sure enough. This project's own rule; no source."""

import pytest

from coach.hearing.evidence import Bars, PitchEvidence
from coach.music import Span
from coach.notation import LineKind
from coach.pieces.hints import Direction, HintStep, hint, ladder_offered, next_step

BARS = Bars(direction=0.85, near=0.85, away=0.07, reveal=0.8)


def found(shares: dict[int, float]) -> PitchEvidence:
    table = tuple(shares.get(28 + k, 0.0) for k in range(73))
    return PitchEvidence(LineKind.MELODY, Span(0.0, 1.0), 28, table, table, table, 1.0, BARS)


def test_the_direction_points_to_the_note() -> None:
    assert hint(found({64: 0.95, 52: 0.05}), 60, HintStep.DIRECTION).direction is Direction.HIGHER
    assert hint(found({64: 0.95, 52: 0.05}), 67, HintStep.DIRECTION).direction is Direction.LOWER
    assert hint(found({64: 0.6, 52: 0.4}), 60, HintStep.DIRECTION).direction is None
    assert hint(found({64: 1.0}), 64, HintStep.DIRECTION).direction is None


@pytest.mark.parametrize(("asked", "near"), [(62, True), (66, True), (64, True), (67, False), (52, False)])
def test_near_is_within_a_whole_tone(asked: int, *, near: bool) -> None:
    assert hint(found({64: 0.98, 40: 0.02}), asked, HintStep.NEAR).within_a_tone is near


def test_near_stays_silent_when_unsure() -> None:
    assert hint(found({64: 0.6, 69: 0.4}), 62, HintStep.NEAR).within_a_tone is None


def test_the_note_is_told_only_on_the_last_step() -> None:
    evidence = found({64: 0.95, 52: 0.05})
    assert [hint(evidence, 60, step).midi for step in HintStep] == [None, None, 64]
    assert [hint(evidence, 60, step).within_a_tone for step in HintStep] == [None, False, False]
    assert hint(found({64: 0.6, 52: 0.4}), 60, HintStep.REVEAL).midi is None


def test_silence_tells_nothing() -> None:
    nothing = PitchEvidence(
        LineKind.BASS, Span(0.0, 1.0), 28, (0.0,) * 73, (0.0,) * 73, (0.0,) * 73, 0.0, BARS, sounding=False
    )
    told = hint(nothing, 40, HintStep.REVEAL)
    assert (told.direction, told.within_a_tone, told.midi) == (None, None, None)


def test_the_ladder_is_climbed_in_order() -> None:
    assert next_step([]) is HintStep.DIRECTION
    assert next_step([HintStep.DIRECTION]) is HintStep.NEAR
    assert next_step(list(HintStep)) is None


def test_the_ladder_is_offered_after_six_different_notes() -> None:
    assert not ladder_offered([60, 60, 61, 62, 63, 64])
    assert ladder_offered([60, 61, 62, 63, 64, 65])


def test_misuse_is_refused() -> None:
    with pytest.raises(ValueError, match="0 to 127"):
        hint(found({64: 1.0}), -1, HintStep.NEAR)
