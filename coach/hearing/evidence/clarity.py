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
CLEAR, HELD_CLEAR, HELD_STRETCHES = 0.95, 0.85, 3
"""A stretch is clear if one pitch is at least so likely; a held note (three stretches of one pitch) if it
is so likely in the mean. Of the measures tried, the two together ranked recordings best by the share of true
notes heard; measured in this project."""
ANSWERED_LEAST, ANSWERED_SLOPE = 0.72, 0.3
"""Share of questions answered, as a line over clarity; fitted in this project."""


@dataclass(frozen=True, slots=True)
class Clarity:
    """Shares, 0 to 1.

    Parameters
    ----------
    melody, bass
        How often one pitch stands out for the line, where something sounds.
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
    clear: dict[LineKind, list[bool]] = {line: [] for line in LineKind}
    held: dict[LineKind, list[bool]] = {line: [] for line in LineKind}
    for number, spans in enumerate(blocks, 1):
        if cancelled is not None and cancelled():
            raise CancelledError("The first listen was stopped.")
        found = likeliest(analysis, model, spans)
        for line in LineKind:
            clear[line] += [share >= CLEAR for _, share in found[line] if share > 0]
            held[line] += [mean >= HELD_CLEAR for mean in _held(found[line])]
        if progress is not None:
            progress(number / len(blocks))
    if not clear[LineKind.MELODY]:
        return Clarity(0.0, 0.0, 0.0)
    melody, bass = (_share(clear[line], held[line]) for line in (LineKind.MELODY, LineKind.BASS))
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


def _held(found: Sequence[tuple[int, float]]) -> list[float]:
    """Mean probabilities of runs of one pitch that last at least three stretches."""
    runs = [[share for _, share in run] for _, run in groupby(found, key=lambda pair: (pair[0], pair[1] > 0))]
    return [float(np.mean(run)) for run in runs if len(run) >= HELD_STRETCHES and run[0] > 0]


def _share(clear: Sequence[bool], held: Sequence[bool]) -> float:
    return float((np.mean(clear) + np.mean(held)) / 2 if held else np.mean(clear) / 2)
