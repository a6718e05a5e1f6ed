"""From values to samples: prompts, drones, clicks and count-ins."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from coach.music.tuning_system import A4_HZ, midi_to_hz
from coach.tones.instruments import Audio, edges, tone
from coach.tones.loudness import matched, under_peak
from coach.tones.prompt import PromptClick, PromptNote, Timbre

_CLICK_S = 0.05
_CLICK_HZ = (1_500.0, 2_200.0)
"""Plain and accented click: above the fundamentals of the guitar, never mistaken for one of them."""
_CLICK_PEAK = 0.25
"""Of either; full scale is 1."""


@lru_cache(maxsize=256)
def _note(timbre: Timbre, midi: int, length_ms: int, rate_hz: int, a4_hz: float) -> Audio:
    """A loudness-matched note; phrases repeat notes, so a few hundred are kept."""
    samples = matched(tone(timbre, midi_to_hz(midi, a4_hz), length_ms / 1000.0, rate_hz), rate_hz)
    samples.flags.writeable = False
    return samples


def render_unlimited(
    notes: Sequence[PromptNote],
    timbre: Timbre,
    rate_hz: int,
    *,
    a4_hz: float = A4_HZ,
    length_s: float | None = None,
) -> Audio:
    """Sum of the notes at their loudness, shape (n,), before the common peak is looked after."""
    end_s = max((note.end_s for note in notes), default=0.0)
    out = np.zeros(max(1, round(max(end_s, length_s or 0.0) * rate_hz)), np.float32)
    for note in notes:
        length_ms = max(1, round(1000.0 * (note.end_s - note.start_s)))
        samples = _note(note.timbre or timbre, note.midi, length_ms, rate_hz, a4_hz)
        first = round(note.start_s * rate_hz)
        stop = min(len(out), first + len(samples))
        out[first:stop] += samples[: stop - first] * np.float32(10.0 ** (note.gain_db / 20.0))
    return out


def render(
    notes: Sequence[PromptNote],
    timbre: Timbre,
    rate_hz: int,
    *,
    a4_hz: float = A4_HZ,
    clicks: Sequence[PromptClick] = (),
    length_s: float | None = None,
) -> Audio:
    """Render a prompt.

    Parameters
    ----------
    notes
        May overlap; each keeps to its own [start_s, end_s).
    timbre
        Instrument of the notes without their own.
    rate_hz
        Sample rate of the result, at least 8 kHz.
    a4_hz
        Tuning.
    clicks
        Metronome clicks in the same time.
    length_s
        At least so long; silence at the end.

    Returns
    -------
    Audio
        Mono, float32, peak at most -6 dBFS, silent at both ends.
    """
    last_s = max((click.at_s + _CLICK_S for click in clicks), default=0.0)
    out = render_unlimited(notes, timbre, rate_hz, a4_hz=a4_hz, length_s=max(last_s, length_s or 0.0))
    for one in clicks:
        samples = click(rate_hz, accent=one.accent)
        first = round(one.at_s * rate_hz)
        out[first : first + len(samples)] += samples[: len(out) - first]
    return under_peak(out)


def click(rate_hz: int, *, accent: bool = False) -> Audio:
    """One click of the metronome, 50 ms, mono: a short damped tone, soft at both ends."""
    count = round(_CLICK_S * rate_hz)
    time = np.arange(count) / rate_hz
    wave = np.sin(2.0 * np.pi * _CLICK_HZ[accent] * time) * np.exp(-time / 0.008)
    return np.asarray(_CLICK_PEAK * wave * edges(count, rate_hz, 0.002, 0.01), np.float32)
