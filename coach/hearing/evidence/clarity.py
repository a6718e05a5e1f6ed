"""How clear a recording's tune and bass are, and how many of its notes a check would answer."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from coach.errors import CancelledError
from coach.hearing.evidence.analysis import RecordingAnalysis
from coach.hearing.evidence.judged import evidence
from coach.hearing.evidence.model import EvidenceModel
from coach.hearing.evidence.posterior import PitchEvidence
from coach.music.span import Span
from coach.notation.line import LineKind

SLOT_S = 0.35
MOST_SLOTS = 120


@dataclass(frozen=True, slots=True)
class Clarity:
    """Shares, 0 to 1.

    Parameters
    ----------
    melody, bass
        Mean probability of the likeliest pitch where something sounds: how clear the line stands out.
    checkable_share
        Share of notes, over both lines, that a check would answer.
    """

    melody: float
    bass: float
    checkable_share: float


def clarity(
    analysis: RecordingAnalysis,
    model: EvidenceModel,
    *,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Clarity:
    """Look at stretches of .35 s, at most 120 spread over the whole, as if each were a note.

    Raises
    ------
    CancelledError
        When ``cancelled`` says so.
    """
    count = max(1, min(MOST_SLOTS, int(analysis.duration_s / SLOT_S)))
    starts = np.linspace(0.0, max(0.0, analysis.duration_s - SLOT_S), count)
    best: dict[LineKind, list[float]] = {line: [] for line in LineKind}
    answered: list[float] = []
    for number, start in enumerate(starts):
        if cancelled is not None and cancelled():
            raise CancelledError("The first listen was stopped.")
        for line in LineKind:
            found = evidence(analysis, model, line, Span(float(start), float(start) + SLOT_S))
            if found.sounding:
                best[line].append(max(found.posterior))
                answered.append(answerable(found))
        if progress is not None:
            progress((number + 1) / count)
    melody, bass = (
        float(np.mean(best[line])) if best[line] else 0.0 for line in (LineKind.MELODY, LineKind.BASS)
    )
    return Clarity(melody, bass, float(np.mean(answered)) if answered else 0.0)


def answerable(found: PitchEvidence) -> float:
    """1 where a question about the likeliest pitch would be answered, else 0."""
    return float(max(found.posterior) >= found.bars.heard)
