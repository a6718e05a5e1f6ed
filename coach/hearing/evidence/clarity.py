"""How clear a recording's tune and bass are, and how many of its notes a check would answer."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from coach.errors import CancelledError
from coach.hearing.evidence.analysis import RecordingAnalysis
from coach.hearing.evidence.judged import likeliest
from coach.hearing.evidence.model import EvidenceModel
from coach.music.span import Span
from coach.notation.line import LineKind

STRETCH_S, EVERY_S = 0.3, 0.1
STRETCHES_A_BLOCK, MOST_BLOCKS = 40, 8
"""Stretches are looked at in blocks of 4 s, at most 8 of them spread over the whole."""
CLEAR, LEAST_RUN, MOST_RUN = 0.97, 2, 5
"""A run of stretches with one likeliest pitch stands for a note: at least two of them, and it weighs as many
as it has, up to five. It is clear if that pitch is at its best at least so likely. Of the measures tried this
ranked recordings best by the share of true notes heard; measured in this project."""
ANSWERED_LEAST, ANSWERED_SLOPE = 0.72, 0.3
"""Share of questions answered, as a line over clarity; fitted in this project."""


@dataclass(frozen=True, slots=True)
class Clarity:
    """Shares, 0 to 1.

    Parameters
    ----------
    melody, bass
        How much of the line one pitch stands out in, where something sounds.
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
    """Look at overlapping stretches of .3 s as if each were a note; all 0 for silence.

    Raises
    ------
    CancelledError
        When ``cancelled`` says so.
    """
    blocks = _blocks(analysis.duration_s)
    runs: dict[LineKind, list[tuple[int, bool]]] = {line: [] for line in LineKind}
    for number, spans in enumerate(blocks, 1):
        if cancelled is not None and cancelled():
            raise CancelledError("The first listen was stopped.")
        found = likeliest(analysis, model, spans)
        for line in LineKind:
            runs[line] += _runs(found[line])
        if progress is not None:
            progress(number / len(blocks))
    melody, bass = (_share(runs[line]) for line in (LineKind.MELODY, LineKind.BASS))
    if not runs[LineKind.MELODY]:
        return Clarity(0.0, 0.0, 0.0)
    return Clarity(melody, bass, min(1.0, ANSWERED_LEAST + ANSWERED_SLOPE * (melody + bass) / 2))


def _blocks(duration_s: float) -> list[list[Span]]:
    length = EVERY_S * STRETCHES_A_BLOCK
    count = max(1, min(MOST_BLOCKS, int(duration_s / length)))
    starts = np.linspace(0.0, max(0.0, duration_s - length - STRETCH_S), count)
    return [
        [
            Span(float(start) + EVERY_S * k, float(start) + EVERY_S * k + STRETCH_S)
            for k in range(STRETCHES_A_BLOCK)
            if k == 0 or float(start) + EVERY_S * k + STRETCH_S <= duration_s
        ]
        for start in starts
    ]


def _runs(found: Sequence[tuple[int, float]]) -> list[tuple[int, bool]]:
    """Weight of each run of one pitch, and whether it is clear; silence makes none."""
    grouped = groupby(found, key=lambda pair: (pair[0], pair[1] > 0))
    runs = [[share for _, share in run] for (_, sounds), run in grouped if sounds]
    return [(min(len(run), MOST_RUN), len(run) >= LEAST_RUN and max(run) >= CLEAR) for run in runs]


def _share(runs: Sequence[tuple[int, bool]]) -> float:
    return sum(weight for weight, clear in runs if clear) / max(1, sum(weight for weight, _ in runs))
