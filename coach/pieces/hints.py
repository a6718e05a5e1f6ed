"""The hint ladder: direction, neighbourhood, the note; each only when the evidence is sure enough."""

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from typing import assert_never

from coach.hearing.evidence import PitchEvidence
from coach.music.span import Span
from coach.notation.line import LineKind

LADDER_AFTER = 6
"""After so many different notes asked on one span the ladder is offered."""
WHOLE_TONE = 2


class HintStep(StrEnum):
    """The steps, in order; the values are the words of the command line."""

    DIRECTION = "direction"
    NEAR = "near"
    REVEAL = "reveal"


class Direction(StrEnum):
    """Where the note lies from the one asked about."""

    HIGHER = "higher"
    LOWER = "lower"


@dataclass(frozen=True, slots=True)
class Hint:
    """One step of the ladder for the player's note.

    Parameters
    ----------
    line, span, asked_midi
        What was asked about.
    step
        The step taken.
    direction
        For the first step on; ``None`` where it cannot tell (or the note asked is the one).
    within_a_tone
        For the second step on: whether the note lies within two frets; ``None`` where it cannot tell.
    midi
        For the last step only: the note in the register asked for; ``None`` where it cannot tell.
    """

    line: LineKind
    span: Span
    asked_midi: int
    step: HintStep
    direction: Direction | None
    within_a_tone: bool | None
    midi: int | None


def hint(evidence: PitchEvidence, midi: int, step: HintStep) -> Hint:
    """Take one step of the ladder.

    Parameters
    ----------
    midi
        The player's note as it would lie in the recording, 0 to 127.
    """
    if not 0 <= midi <= 127:
        raise ValueError(f"a MIDI note number lies in 0 to 127, not {midi}")
    direction = _direction(evidence, midi)
    near: bool | None = None
    found: int | None = None
    match step:
        case HintStep.DIRECTION:
            pass
        case HintStep.NEAR:
            near = _near(evidence, midi)
        case HintStep.REVEAL:
            near = _near(evidence, midi)
            found = _reveal(evidence)
        case _ as never:
            assert_never(never)
    return Hint(evidence.line, evidence.span, midi, step, direction, near, found)


def next_step(taken: Collection[HintStep]) -> HintStep | None:
    """The next step of the ladder for a span, ``None`` after the last."""
    for step in HintStep:
        if step not in taken:
            return step
    return None


def ladder_offered(asked: Collection[int]) -> bool:
    """Whether enough different notes were asked about on one span for the ladder to be offered."""
    return len(set(asked)) >= LADDER_AFTER


def _direction(evidence: PitchEvidence, sought: int) -> Direction | None:
    higher = sum(p for k, p in enumerate(evidence.posterior) if evidence.lowest_midi + k > sought)
    lower = sum(p for k, p in enumerate(evidence.posterior) if evidence.lowest_midi + k < sought)
    if max(higher, lower) < evidence.bars.direction:
        return None
    return Direction.HIGHER if higher > lower else Direction.LOWER


def _near(evidence: PitchEvidence, sought: int) -> bool | None:
    if not evidence.sounding:
        return None
    within = sum(evidence.of(sought + k) for k in range(-WHOLE_TONE, WHOLE_TONE + 1))
    if within >= evidence.bars.near:
        return True
    return False if within <= evidence.bars.away else None


def _reveal(evidence: PitchEvidence) -> int | None:
    best = max(range(len(evidence.posterior)), key=lambda k: evidence.posterior[k])
    return evidence.lowest_midi + best if evidence.posterior[best] >= evidence.bars.reveal else None
