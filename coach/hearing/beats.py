"""The beats of a recording, by dynamic programming."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.beats_strength import ONSET_DELAY_S, Floats, OnsetStrength, onset_strength
from coach.hearing.beats_tempo import other_tempos, tempo_of

_TIGHTNESS = 120.0
"""How much a beat that comes early or late costs, against onset strength. From memory of Ellis 2007; ours
counts strength otherwise."""
_FADED_DB = -18.0
"""Beats at the end, around which the music has faded by so much, are not counted."""
_BEFORE_S, _AFTER_S = 0.1, 0.05
"""Moments around a beat: what is struck on it sounds after it, however short the notes before were."""
_BAR = 4
"""A stroke after so many silent beats, such as of a switch, is none; one among short notes is."""
_SILENT_DB = -40.0


@dataclass(frozen=True, slots=True)
class Beats:
    """The beats of a recording.

    Parameters
    ----------
    tempo_bpm
        Beats a minute over the whole (median of the steps).
    beats_s
        Rising times in seconds from the first sample; empty where nothing sounds.
    other_tempos_bpm
        Other readings of the pulse, likeliest first: half, double, triple, two thirds.
    """

    tempo_bpm: float
    beats_s: tuple[float, ...]
    other_tempos_bpm: tuple[float, ...]


def find_beats(
    samples: Floats,
    rate_hz: float,
    *,
    tempo_bpm: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> Beats:
    """Find the beats of a recording.

    Parameters
    ----------
    samples
        Mono, -1 to 1.
    rate_hz
        Samples a second.
    tempo_bpm
        The tempo the player chose (one of the other readings, or tapped); found if ``None``.
    progress
        Told the share done, 0 to 1; may raise to stop.
    """
    return beats_of(onset_strength(samples, rate_hz, progress=progress), tempo_bpm)


def beats_of(strength: OnsetStrength, tempo_bpm: float | None = None) -> Beats:
    """The beats in an onset strength that was measured already."""
    tempo = tempo_of(strength) if tempo_bpm is None else tempo_bpm
    if strength.silent:
        return Beats(tempo, (), other_tempos(tempo))
    frames = _path(strength.values, 60.0 * strength.rate_hz / tempo)
    times = _trimmed(frames / strength.rate_hz, strength) - ONSET_DELAY_S
    if len(times) > 2:
        tempo = 60.0 / float(np.median(np.diff(times)))
    kept = tuple(float(time) for time in np.maximum(times, 0.0))
    return Beats(tempo, tuple(dict.fromkeys(kept)), other_tempos(tempo))


def _path(values: Floats, period: float) -> NDArray[np.intp]:
    """The frames of the best sequence of beats about ``period`` frames apart.

    The score of a beat is its smoothed onset strength plus the best of all beats half to two periods before,
    less the squared logarithm of how far that step is from the period (Ellis 2007, equations 1 to 5).
    """
    most = min(int(period), (len(values) - 1) // 2)  # so that the kernel is no longer than the recording
    reach = np.arange(-most, most + 1)
    smooth = np.convolve(values, np.exp(-0.5 * (reach * 32.0 / period) ** 2), "same")
    steps = np.arange(-int(2 * period), -max(1, int(period / 2)))
    cost = -_TIGHTNESS * np.log(-steps / period) ** 2
    front = -int(steps[0])
    scores = np.concatenate([np.full(front, -np.inf), smooth])
    before = np.full(len(values), -1)
    for frame in range(len(values)):
        options = scores[frame : frame + len(steps)] + cost
        best = int(options.argmax())
        if options[best] > 0:
            scores[frame + front] = smooth[frame] + options[best]
            before[frame] = frame + steps[best]
    last = max(0, len(values) - int(period))
    frame = last + int(scores[front + last :].argmax())
    path = []
    while frame >= 0:
        path.append(frame)
        frame = int(before[frame])
    return np.array(path[::-1])


def _trimmed(times: NDArray[np.float64], strength: OnsetStrength) -> NDArray[np.float64]:
    """Beats as long as there is music: taken off after it has faded, put on back to where it begins."""

    def level(time: float) -> float:
        frame = min(max(int(time * strength.rate_hz), 0), len(strength.levels_db) - 1)
        return float(strength.levels_db[frame])

    def sounds(time: float) -> bool:
        return max(level(time - _BEFORE_S), level(time + _AFTER_S)) >= _FADED_DB

    kept = list(times)
    while len(kept) > 2 and level(kept[-1] - _BEFORE_S) < _FADED_DB:
        if level(kept[-1] + _AFTER_S) >= _FADED_DB and any(sounds(time) for time in kept[-_BAR - 1 : -1]):
            break
        kept.pop()
    if len(kept) > 2:
        step = float(np.median(np.diff(kept[:9])))
        while kept[0] - step >= 0 and level(kept[0] - step + _BEFORE_S) > _SILENT_DB:
            kept.insert(0, kept[0] - step)
    return np.array(kept)
