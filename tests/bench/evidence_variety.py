"""Changes to an analysed moment while the evidence model learns: its notes as other recordings show them.

Loudness, broad equalisation, noise floor; a room that smears moments into the next; a wider or narrower range
of levels; a little out of tune; and the whole moved by up to three semitones.
"""

from dataclasses import dataclass

import numpy as np

from coach.hearing.evidence.activations import COMPRESSION
from coach.hearing.evidence.analysis import ACTIVATION_RANGE, LEVEL_RANGE_DB, RecordingAnalysis
from coach.hearing.evidence.features import RISE_FRAMES
from coach.hearing.evidence.spectrum import BINS_PER_SEMITONE, GRID_BINS, HOP_S

SMEARS = (2, 4, 7, 11)
"""Delays of a room's tail that are added, in frames."""
ROOF_DB = 15.0


@dataclass(frozen=True, slots=True)
class Moment:
    """Levels (3, slots, bins), the middle ones before (slots, bins), activations (slots, pitches)."""

    levels: np.ndarray
    before: np.ndarray
    logs: np.ndarray


def moment(analysis: RecordingAnalysis, at: np.ndarray) -> Moment:
    """As it is."""
    before = analysis.levels_at(np.maximum(at - RISE_FRAMES, 0))[1]
    return Moment(analysis.levels_at(at), before, analysis.activations_at(at))


def varied(analysis: RecordingAnalysis, at: np.ndarray, rng: np.random.Generator, semitones: int) -> Moment:
    """Changed at random, and moved by ``semitones``."""
    seen = moment(analysis, at)
    if rng.random() < 0.25:
        seen = _smeared(seen, analysis, at, rng)
    levels, before, logs = seen.levels, seen.before, seen.logs
    if rng.random() < 0.3:
        factor = np.float32(rng.uniform(0.8, 1.2))
        levels, before = levels * factor, before * factor
    away = rng.uniform(-0.35, 0.35) if rng.random() < 0.3 else 0.0
    levels, before = (
        _shifted(x, away, BINS_PER_SEMITONE * semitones, LEVEL_RANGE_DB[0]) for x in (levels, before)
    )
    logs = _shifted(logs, 0.0, semitones, ACTIVATION_RANGE[0])
    knots = rng.normal(0, 5.0, 6)
    curve = np.interp(np.arange(GRID_BINS), np.linspace(0, GRID_BINS, 6), knots).astype(np.float32)
    curve += np.float32(rng.normal(0, 3.0))
    floor = np.float32(rng.uniform(-75, -42) if rng.random() < 0.35 else -75)
    return Moment(np.clip(levels + curve, floor, ROOF_DB), np.clip(before + curve, floor, ROOF_DB), logs)


def _smeared(seen: Moment, analysis: RecordingAnalysis, at: np.ndarray, rng: np.random.Generator) -> Moment:
    last_s, base_db = rng.uniform(0.35, 2.5), rng.uniform(2.0, 14.0)
    levels, before, logs = seen.levels, seen.before, seen.logs
    for delay in SMEARS:
        drop = np.float32(base_db + 60.0 * delay * HOP_S / last_s)
        earlier = moment(analysis, np.maximum(at - delay, 0))
        levels = np.maximum(levels, earlier.levels - drop)
        before = np.maximum(before, earlier.before - drop)
        logs = np.maximum(logs, earlier.logs - drop * np.float32(COMPRESSION / 20))
    return Moment(levels, before, logs)


def _shifted(values: np.ndarray, part: float, whole: int, fill: float) -> np.ndarray:
    """Moved up by ``whole`` places and a ``part`` of one, along the last axis."""
    if part:
        side = np.roll(values, 1 if part > 0 else -1, axis=-1)
        values = values * np.float32(1 - abs(part)) + side * np.float32(abs(part))
    if whole:
        values = np.roll(values, whole, axis=-1)
        values[..., slice(0, whole) if whole > 0 else slice(whole, None)] = fill
    return values
