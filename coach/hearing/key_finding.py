"""The key that a recording is most likely in.

Key-finding by profiles: the strengths of the twelve pitch classes are correlated with the probe-tone ratings
of each of the 24 keys (C. L. Krumhansl, Cognitive Foundations of Musical Pitch, Oxford 1990, chapter 4).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.evidence import RecordingAnalysis
from coach.music.key import Key, Mode

PROFILES = {
    Mode.MAJOR: (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
    Mode.MINOR: (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
}
"""C. L. Krumhansl and E. J. Kessler, "Tracing the dynamic changes in perceived tonal organization in a
spatial representation of musical keys", Psychological Review 89(4), 1982: mean ratings of the probe tones."""
_LOWEST_MIDI = 28
"""First pitch of the analysis' activations."""
_BASS_BELOW_MIDI = 52
_BASS_WEIGHT = 2.0
"""Pitches below E3 count double: they are mostly roots. Ours."""


@dataclass(frozen=True, slots=True)
class KeyReading:
    """A key, and how much better it fits than the next best one (difference of correlations, 0 to 2)."""

    key: Key
    lead: float


def key_of_recording(analysis: RecordingAnalysis) -> KeyReading | None:
    """The likeliest key of a recording, ``None`` where nothing sounds."""
    return None if analysis.silent else key_of_weights(pitch_class_weights(analysis))


def key_of_weights(weights: Sequence[float]) -> KeyReading | None:
    """The likeliest key.

    Parameters
    ----------
    weights
        How strong each pitch class is, C first, shape (12,), at least 0.

    Returns
    -------
    KeyReading or None
        ``None`` where all weights are equal, as in silence.
    """
    heard = np.asarray(weights, dtype=np.float64)
    if heard.shape != (12,):
        raise ValueError(f"twelve pitch classes are wanted, not {heard.shape}")
    if np.ptp(heard) < 1e-12:
        return None
    fits = {
        (tonic, mode): float(np.corrcoef(np.roll(heard, -tonic), PROFILES[mode])[0, 1])
        for mode in Mode
        for tonic in range(12)
    }
    best, second = sorted(fits, key=lambda name: -fits[name])[:2]
    return KeyReading(Key.of_class(*best), fits[best] - fits[second])


def pitch_class_weights(analysis: RecordingAnalysis) -> tuple[float, ...]:
    """How strong each pitch class is over a recording, C first; the recording's own tuning is allowed for."""
    activations = 10.0 ** analysis.activations_at(np.arange(analysis.frames))
    strengths = activations.sum(axis=0)
    midi = _LOWEST_MIDI + np.arange(len(strengths))
    strengths = strengths * np.where(midi < _BASS_BELOW_MIDI, _BASS_WEIGHT, 1.0)
    return tuple(_folded(strengths, midi).tolist())


def _folded(strengths: NDArray[np.floating], midi: NDArray[np.integer]) -> NDArray[np.float64]:
    return np.bincount(midi % 12, weights=strengths, minlength=12).astype(np.float64)
