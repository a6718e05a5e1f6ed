"""A small ensemble that plays bundled pieces: what it renders is treated like any recording."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from coach.music.tuning_system import A4_HZ
from coach.tones.instruments import Audio
from coach.tones.lines import panned
from coach.tones.loudness import under_peak
from coach.tones.prompt import Part, PromptNote
from coach.tones.rendering import render_unlimited

_AHEAD_S, _TAIL_S = 0.35, 0.8
"""Of the room, before the first beat and after the last note."""
_ECHOES = ((0.023, -15.0, 0.7), (0.037, -17.0, -0.7), (0.061, -21.0, 0.4), (0.089, -25.0, -0.4))
"""A little room: delay in seconds, level in dB, side."""


@dataclass(frozen=True, slots=True)
class EnsembleManner:
    """How the ensemble plays.

    Parameters
    ----------
    detune_cents
        Of all players together against A4 = 440 Hz, as recordings have it.
    timing_s
        Standard deviation of each onset.
    sway
        Standard deviation of the tempo from beat to beat, as a share.
    dynamics_db
        Standard deviation of each note's loudness.
    noise_db
        Hiss, in dB under full scale.
    """

    detune_cents: float = 12.0
    timing_s: float = 0.008
    sway: float = 0.006
    dynamics_db: float = 1.2
    noise_db: float = -64.0


def humanised(parts: Sequence[Part], rng: Random, manner: EnsembleManner | None = None) -> tuple[Part, ...]:
    """The same parts as people would play them: times and loudness a little off, and 0.35 s of silence ahead.

    The tempo sways for all players together; each note's timing is its own. The result says exactly what
    `recording` will let sound, so it is the truth to test against.
    """
    how = manner or EnsembleManner()
    end_s = max((note.end_s for part in parts for note in part.notes), default=0.0)
    clock = _swaying(end_s, how.sway, rng)
    return tuple(replace(part, notes=_played(part.notes, clock, how, rng)) for part in parts)


def recording(
    parts: Sequence[Part],
    rate_hz: int,
    rng: Random,
    *,
    manner: EnsembleManner | None = None,
) -> Audio:
    """Render parts to a stereo recording, each in its place, with some room and hiss.

    Parameters
    ----------
    parts
        Usually from `humanised`.
    rate_hz
        Sample rate.
    rng
        For the hiss only.
    manner
        ``detune_cents`` and ``noise_db`` count here.

    Returns
    -------
    Audio
        Shape (n, 2), peak at most -6 dBFS.
    """
    how = manner or EnsembleManner()
    end_s = max((note.end_s for part in parts for note in part.notes), default=0.0) + _TAIL_S
    out = np.zeros((max(1, round(end_s * rate_hz)), 2), np.float32)
    detuned_hz = A4_HZ * 2.0 ** (how.detune_cents / 1200.0)
    for part in parts:
        mono = render_unlimited(part.notes, part.timbre, rate_hz, a4_hz=detuned_hz, length_s=end_s)
        mono = mono * np.float32(10.0 ** (part.level_db / 20.0))
        out += panned(mono, part.pan)[: len(out)]
        for delay_s, level_db, side in _ECHOES:
            late = round(delay_s * rate_hz)
            gain = np.float32(10.0 ** (level_db / 20.0))
            out[late:] += panned(mono * gain, side)[: len(out) - late]
    noise = np.random.default_rng(rng.getrandbits(64)).standard_normal(out.shape)
    hiss = np.asarray(noise * 10.0 ** (how.noise_db / 20.0), np.float32)
    return under_peak(np.asarray(out + hiss, np.float32))


def _swaying(end_s: float, sway: float, rng: Random) -> tuple[list[float], list[float]]:
    """Anchors of straight time and of played time, half a second apart."""
    straight, played, rate = [0.0], [_AHEAD_S], 0.0
    while straight[-1] < end_s:
        rate = 0.7 * rate + rng.gauss(0.0, sway)
        straight.append(straight[-1] + 0.5)
        played.append(played[-1] + 0.5 * (1.0 + rate))
    return straight, played


def _played(
    notes: Sequence[PromptNote],
    clock: tuple[list[float], list[float]],
    how: EnsembleManner,
    rng: Random,
) -> tuple[PromptNote, ...]:
    played = []
    for note in notes:
        late_s = rng.gauss(0.0, how.timing_s)
        start_s = max(0.0, float(np.interp(note.start_s, *clock)) + late_s)
        end_s = max(start_s + 0.05, float(np.interp(note.end_s, *clock)))
        gain_db = min(12.0, note.gain_db + rng.gauss(0.0, how.dynamics_db))
        played.append(replace(note, start_s=start_s, end_s=end_s, gain_db=gain_db))
    return tuple(played)
