"""From an analysis to the evidence for one span."""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from coach.hearing.evidence.activations import LOWEST_MIDI, PITCHES
from coach.hearing.evidence.analysis import RecordingAnalysis
from coach.hearing.evidence.features import frame_inputs, slots
from coach.hearing.evidence.model import LINE_COLUMN, EvidenceModel
from coach.hearing.evidence.network import Network
from coach.hearing.evidence.posterior import PitchEvidence, SettledNote
from coach.hearing.evidence.spectrum import HOP_S, Floats
from coach.music.span import Span
from coach.notation.line import LineKind

MOST_LOOKS = 5
LOOK_S = 0.8
"""A span is looked at twice, and once more for each so many seconds, with frames in between."""
NEIGHBOUR_S = (0.15, 0.5)
"""Least and most length of the stretches before and after."""
SOUNDING_DB = -55.0
"""Something sounds if the loudest bin reaches this level against the recording's reference."""
CROSSED = 0.02
"""What is left of a melody pitch at or below a settled bass note that sounds, and the other way about: lines
may cross, seldom. Measured: a tenth of a point fewer *cannot tell*, no answer worse."""

_Spans = list[tuple[Span, float]]


def evidence(
    analysis: RecordingAnalysis,
    model: EvidenceModel,
    line: LineKind,
    span: Span,
    *,
    other_line: Sequence[SettledNote] = (),
) -> PitchEvidence:
    """What the recording tells about one line's pitch in a span.

    Parameters
    ----------
    analysis
        Of the whole recording.
    span
        What the player marked as one note, 0.1 to 8 s, off by up to 0.1 s at each end.
    other_line
        Settled notes of the other line, in seconds of the recording: what they explain is not counted twice.
    """
    looks = _looks(span)
    sounding = not analysis.silent and span.start_s < analysis.duration_s and _sounds(analysis, span)
    if not sounding:
        nothing = (0.0,) * PITCHES
        return PitchEvidence(
            line,
            span,
            LOWEST_MIDI,
            nothing,
            nothing,
            nothing,
            0.0,
            model.lines[line].bars_for(0.0),
            sounding=False,
        )
    before, after = _neighbours(span, analysis.duration_s)
    asked = [*looks, (before, 0.5), (after, 0.5)]
    scores = _scores(analysis, model.networks, line, asked)
    now = scores[: len(looks)].mean(axis=0)
    tables = [_posterior(model, line, each) for each in (now, scores[-2], scores[-1])]
    spans = (span, before, after)
    posterior, earlier, later = (
        tuple(float(p) for p in _explained(table, line, at, other_line))
        for table, at in zip(tables, spans, strict=True)
    )
    reliability = model.reliability(analysis.summary)
    bars = model.lines[line].bars_for(reliability)
    return PitchEvidence(line, span, LOWEST_MIDI, posterior, earlier, later, reliability, bars)


def look_scores(
    analysis: RecordingAnalysis, networks: Sequence[Network], line: LineKind, span: Span
) -> Floats:
    """Scores of all pitches in a span before any calibration, (pitches,)."""
    return np.asarray(_scores(analysis, networks, line, _looks(span)).mean(axis=0), dtype=np.float32)


def likeliest(
    analysis: RecordingAnalysis, model: EvidenceModel, spans: Sequence[Span]
) -> dict[LineKind, list[tuple[int, float]]]:
    """The likeliest pitch (MIDI) of each line in each of many spans, and its probability; 0 in silence.

    Each span is looked at once and all of them together: what a survey needs, in a fraction of the time.
    """
    if not spans or analysis.silent:
        return {line: [(LOWEST_MIDI, 0.0)] * len(spans) for line in LineKind}
    scores = _all_scores(analysis, model.networks, [(span, 0.5) for span in spans])
    sounding = [_sounds(analysis, span) for span in spans]
    found: dict[LineKind, list[tuple[int, float]]] = {}
    for line in LineKind:
        tables = [_posterior(model, line, each) for each in scores[:, :, LINE_COLUMN[line]]]
        found[line] = [
            (LOWEST_MIDI + int(np.argmax(table)), float(table.max()) if heard else 0.0)
            for table, heard in zip(tables, sounding, strict=True)
        ]
    return found


def _looks(span: Span) -> _Spans:
    count = min(MOST_LOOKS, 2 + int(span.length_s / LOOK_S))
    return [(span, (k + 0.5) / count) for k in range(count)]


def _neighbours(span: Span, duration_s: float) -> tuple[Span, Span]:
    length = min(max(span.length_s, NEIGHBOUR_S[0]), NEIGHBOUR_S[1])
    start = max(span.start_s - length, -length / 2)
    end = min(span.end_s + length, duration_s + length / 2)
    return Span(start, max(span.start_s, start + 0.05)), Span(min(span.end_s, end - 0.05), end)


def _sounds(analysis: RecordingAnalysis, span: Span) -> bool:
    first = max(0, min(int(span.start_s / HOP_S), analysis.frames - 1))
    last = max(first + 1, min(math.ceil(span.end_s / HOP_S), analysis.frames))
    levels = analysis.levels_at(np.arange(first, last, max(1, (last - first) // 32)))
    return bool(levels[0].max() > SOUNDING_DB)


def _scores(
    analysis: RecordingAnalysis, networks: Sequence[Network], line: LineKind, asked: _Spans
) -> Floats:
    return _all_scores(analysis, networks, asked)[:, :, LINE_COLUMN[line]]


def _all_scores(analysis: RecordingAnalysis, networks: Sequence[Network], asked: _Spans) -> Floats:
    frames = np.concatenate([slots(span, analysis.frames, phase) for span, phase in asked])
    values = frame_inputs(analysis, frames)
    lengths = np.array([span.length_s for span, _ in asked])
    found = [network.scores(values, lengths) for network in networks]
    return np.asarray(np.mean(found, axis=0), dtype=np.float32)


def _posterior(model: EvidenceModel, line: LineKind, scores: Floats) -> npt.NDArray[np.float64]:
    """Softmax over the line's range (McFadden 1974), softened by the temperature (Guo et al. 2017)."""
    of_line = model.lines[line]
    values = scores.astype(np.float64) / of_line.temperature
    midi = LOWEST_MIDI + np.arange(PITCHES)
    values[(midi < of_line.low_midi) | (midi > of_line.high_midi)] = -np.inf
    shares = np.exp(values - values.max())
    return np.asarray(shares / shares.sum(), dtype=np.float64)


def _explained(
    posterior: npt.NDArray[np.float64], line: LineKind, span: Span, other_line: Sequence[SettledNote]
) -> npt.NDArray[np.float64]:
    """Take away what the other line's settled notes explain: their own pitch and what lies beyond it."""
    out = posterior.copy()
    for note in other_line:
        share = note.span.shared_s(span) / span.length_s
        place = note.midi - LOWEST_MIDI
        if share < 0.5 or not 0 <= place < PITCHES:
            continue
        beyond = slice(0, place + 1) if line is LineKind.MELODY else slice(place, PITCHES)
        out[beyond] *= CROSSED
    total = out.sum()
    return out / total if total > 0 else posterior
