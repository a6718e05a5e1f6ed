"""What the model sees of a moment: for every pitch, the levels at its partials."""

import numpy as np
import numpy.typing as npt

from coach.hearing.evidence.activations import HIGHEST_MIDI, LOWEST_MIDI
from coach.hearing.evidence.analysis import LEVEL_RANGE_DB, RecordingAnalysis
from coach.hearing.evidence.spectrum import BINS_PER_SEMITONE, GRID_BINS, GRID_LOW_MIDI, HOP_S, Floats
from coach.music.span import Span

Frames = npt.NDArray[np.intp]

PARTIALS, SHORT_PARTIALS = 10, 6
"""So many of each pitch in the long and middle window, and in the short one, which parts only wide ones."""
INPUTS = 3 * PARTIALS + 2 * PARTIALS + 2 * SHORT_PARTIALS + 3
"""Numbers a pitch and a frame."""
CORE_SLOTS = 6
SLOTS = CORE_SLOTS + 4
"""Frames looked at for one span: two before, six inside, two after."""
BEFORE_S, AFTER_S = (0.20, 0.08), (0.05, 0.17)
"""Where the outer ones lie, from the start and from the end of the span."""
RISE_FRAMES = 3
"""The rise of a partial is taken over 75 ms."""
_OCTAVE_BINS = 12 * BINS_PER_SEMITONE
_PAD = 48 * BINS_PER_SEMITONE


def _partial_bins(count: int) -> Frames:
    midi = np.arange(LOWEST_MIDI, HIGHEST_MIDI + 1)[:, None] + 12 * np.log2(np.arange(1, count + 1))[None]
    return np.asarray(np.round((midi - GRID_LOW_MIDI) * BINS_PER_SEMITONE), dtype=np.intp)


_LONG_BINS, _SHORT_BINS = _partial_bins(PARTIALS), _partial_bins(SHORT_PARTIALS)


def whitened(levels_db: Floats) -> Floats:
    """Levels less their mean over an octave to each side, in dB.

    Spectral whitening after Klapuri (2006), in the logarithm: what a room or an equaliser does to broad
    bands falls out.
    """
    sums = np.cumsum(np.pad(levels_db, ((0, 0), (1, 0))), axis=1, dtype=np.float64)
    place = np.arange(GRID_BINS)
    low, high = np.maximum(place - _OCTAVE_BINS, 0), np.minimum(place + _OCTAVE_BINS + 1, GRID_BINS)
    mean = (sums[:, high] - sums[:, low]) / (high - low)
    return np.asarray(levels_db - mean, dtype=np.float32)


def _peaks(levels: Floats, fill: float) -> Floats:
    """The largest of each bin and its neighbours, padded on top for partials beyond the grid."""
    padded = np.pad(levels, ((0, 0), (1, _PAD)), constant_values=fill)
    return np.maximum(np.maximum(padded[:, :-2], padded[:, 1:-1]), padded[:, 2:])


def inputs(levels: Floats, earlier: Floats, logs: Floats) -> Floats:
    """The model's inputs, (frames, pitches, INPUTS), about -1 to 1.

    Parameters
    ----------
    levels
        dB against the reference in the long, middle and short window, (3, frames, bins).
    earlier
        The middle window's levels 75 ms before, (frames, bins).
    logs
        Logarithms of activations, (frames, pitches).
    """
    floor = LEVEL_RANGE_DB[0]
    frames, pitches = levels.shape[1], logs.shape[1]
    out = np.empty((frames, pitches, INPUTS), np.float32)
    plain = np.pad(levels[0], ((0, 0), (1, _PAD)), constant_values=floor)
    at = 0
    for shift in (0, 1, 2):
        out[:, :, at : at + PARTIALS] = plain[:, _LONG_BINS + shift] / 40 + 1
        at += PARTIALS
    out[:, :, at : at + PARTIALS] = _peaks(whitened(levels[0]), 0.0)[:, _LONG_BINS] / 25
    at += PARTIALS
    out[:, :, at : at + PARTIALS] = _peaks(levels[1], floor)[:, _LONG_BINS] / 40 + 1
    at += PARTIALS
    out[:, :, at : at + SHORT_PARTIALS] = _peaks(levels[2], floor)[:, _SHORT_BINS] / 40 + 1
    at += SHORT_PARTIALS
    rise = _peaks(np.maximum(levels[1], -60) - np.maximum(earlier, -60), 0.0)
    out[:, :, at : at + SHORT_PARTIALS] = np.clip(rise[:, _SHORT_BINS] / 20, -1, 2)
    at += SHORT_PARTIALS
    out[:, :, at] = logs / 1.5 + 1
    place = (np.arange(pitches, dtype=np.float32) - pitches / 2) / (pitches / 2)
    out[:, :, at + 1] = place
    out[:, :, at + 2] = place**2
    return out


def slots(span: Span, frames: int, phase: float) -> Frames:
    """The frames looked at for a span: before, inside, after; ``phase`` 0 to 1 moves the inner ones."""
    inner = span.start_s + span.length_s * (np.arange(CORE_SLOTS) + phase) / CORE_SLOTS
    times = np.concatenate((span.start_s - np.array(BEFORE_S), inner, span.end_s + np.array(AFTER_S)))
    return np.clip(np.round(times / HOP_S), 0, frames - 1).astype(np.intp)


def frame_inputs(analysis: RecordingAnalysis, frames: Frames) -> Floats:
    """The inputs of some frames of a recording, (len(frames), pitches, INPUTS)."""
    levels = analysis.levels_at(frames)
    earlier = analysis.levels_at(np.maximum(frames - RISE_FRAMES, 0))[1]
    return inputs(levels, earlier, analysis.activations_at(frames))
