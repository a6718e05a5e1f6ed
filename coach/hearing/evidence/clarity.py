"""How clear a recording's tune and bass are, and how many of its notes a check would answer."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from coach.errors import CancelledError
from coach.hearing.evidence.analysis import RecordingAnalysis
from coach.hearing.evidence.judged import likeliest
from coach.hearing.evidence.model import EvidenceModel
from coach.music.span import Span
from coach.notation.line import LineKind

SLOT_S = 0.2
MOST_SLOTS = 160
_SLOTS_A_STEP = 24
CLEAR = 0.9
"""A stretch is clear if one pitch is at least so likely. Of .8 to .95, mean and quantiles this one ranked
recordings best by the share of true notes heard; measured in this project."""
ANSWERED_LEAST, ANSWERED_SLOPE = 0.57, 0.5
"""Share of questions answered, as a line over the share of clear stretches; fitted in this project."""


@dataclass(frozen=True, slots=True)
class Clarity:
    """Shares, 0 to 1.

    Parameters
    ----------
    melody, bass
        Share of the sounding stretches in which one pitch stands out for the line.
    checkable_share
        Share of notes, over both lines, that a check would answer (estimated).
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
    """Look at stretches of .2 s, at most 160 spread over the whole; all 0 for silence.

    Raises
    ------
    CancelledError
        When ``cancelled`` says so.
    """
    count = max(1, min(MOST_SLOTS, int(analysis.duration_s / SLOT_S)))
    starts = np.linspace(0.0, max(0.0, analysis.duration_s - SLOT_S), count)
    spans = [Span(float(start), float(start) + SLOT_S) for start in starts]
    clear: dict[LineKind, list[bool]] = {line: [] for line in LineKind}
    for first in range(0, count, _SLOTS_A_STEP):
        if cancelled is not None and cancelled():
            raise CancelledError("The first listen was stopped.")
        found = likeliest(analysis, model, spans[first : first + _SLOTS_A_STEP])
        for line in LineKind:
            clear[line] += [share >= CLEAR for share in found[line]]
        if progress is not None:
            progress(min(1.0, (first + _SLOTS_A_STEP) / count))
    if not clear[LineKind.MELODY]:
        return Clarity(0.0, 0.0, 0.0)
    melody, bass = (float(np.mean(clear[line])) for line in (LineKind.MELODY, LineKind.BASS))
    return Clarity(melody, bass, min(1.0, ANSWERED_LEAST + ANSWERED_SLOPE * (melody + bass) / 2))
