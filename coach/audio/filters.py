"""What is made louder in a recording, at equal loudness."""

from collections.abc import Callable, Iterable
from typing import assert_never

import numpy as np
import pedalboard
from numpy.typing import NDArray

from coach.music.tuning_system import OCTAVE
from coach.sessions.ports import Emphasis, Samples

Moves = Callable[[Samples, float], Samples]
"""Stretches a sound and shifts it by semitones."""

SIDES_DB = -9.0
"""How far the sides go down where the tune is made louder: singers and soloists are mixed in the middle."""

UNDER_RAISED_DB = -12.0
"""How far the recording lies under its raised bass."""

MOST_GAIN_DB = 15.0
"""What is hardly in the recording is not raised further: noise would be."""
CEILING = 0.98
"""Peak (1 is full scale) that emphasis stays under."""
_FEWEST = 64
"""Frames that are handed to a filter at least."""


def emphasised(
    stereo: Samples,
    rate_hz: int,
    emphasis: Emphasis,
    shift_semitones: float,
    moved: Moves,
    gain: float | None = None,
) -> Samples:
    """The recording with one part made louder, then stretched and shifted by ``moved``.

    The loudness of the whole stays (K-weighted, ITU-R BS.1770-4), the peak stays under full scale; without
    emphasis nothing is touched. A ``gain`` that is given is used as it is.
    """
    match emphasis:
        case Emphasis.ALL:
            return moved(stereo, shift_semitones)
        case Emphasis.MELODY:
            part = moved(melody_louder(stereo, rate_hz), shift_semitones)
        case Emphasis.BASS:
            part = moved(bass_louder(stereo, rate_hz), shift_semitones)
        case Emphasis.BASS_RAISED:
            bass = moved(bass_alone(stereo, rate_hz), shift_semitones + OCTAVE)
            part = bass + _gain(UNDER_RAISED_DB) * moved(stereo, shift_semitones)
        case _:
            assert_never(emphasis)
    if gain is not None:
        return np.asarray(part * np.float32(gain), np.float32)
    return _as_loud(part, stereo, rate_hz)


def emphasis_gain(stereo: Samples, rate_hz: int, emphasis: Emphasis) -> float:
    """The factor that makes what is emphasised as loud as the recording.

    A raised bass is weighed where it will sound, an octave higher; what lies under it adds its power.
    """
    whole = loudness(stereo, rate_hz)
    match emphasis:
        case Emphasis.ALL:
            return 1.0
        case Emphasis.MELODY:
            given = loudness(melody_louder(stereo, rate_hz), rate_hz)
        case Emphasis.BASS:
            given = loudness(bass_louder(stereo, rate_hz), rate_hz)
        case Emphasis.BASS_RAISED:
            raised = loudness(bass_alone(stereo, rate_hz), rate_hz, raised=2.0)
            given = raised + _gain(UNDER_RAISED_DB) ** 2 * whole
        case _:
            assert_never(emphasis)
    return float(min(np.sqrt(whole / given), _gain(MOST_GAIN_DB))) if given > 0.0 else 1.0


def melody_louder(stereo: Samples, rate_hz: int) -> Samples:
    """Bass lowered, presence raised, sides lowered."""
    middle = stereo.mean(axis=1, keepdims=True)
    narrow = middle + _gain(SIDES_DB) * (stereo - middle)
    filters = (
        pedalboard.LowShelfFilter(cutoff_frequency_hz=200.0, gain_db=-18.0, q=0.7),
        pedalboard.PeakFilter(cutoff_frequency_hz=900.0, gain_db=4.0, q=0.6),
        pedalboard.HighShelfFilter(cutoff_frequency_hz=5_000.0, gain_db=-6.0, q=0.7),
    )
    return _through(filters, narrow, rate_hz)


def bass_louder(stereo: Samples, rate_hz: int) -> Samples:
    """Everything above the bass lowered, so far that it still tells where in the piece one is."""
    filters = (
        pedalboard.HighShelfFilter(cutoff_frequency_hz=260.0, gain_db=-12.0, q=0.7),
        pedalboard.HighShelfFilter(cutoff_frequency_hz=520.0, gain_db=-12.0, q=0.7),
    )
    return _through(filters, stereo, rate_hz)


def bass_alone(stereo: Samples, rate_hz: int) -> Samples:
    """Only the bass, from the middle."""
    middle = np.repeat(stereo.mean(axis=1, keepdims=True), 2, axis=1)
    filters = (
        pedalboard.HighShelfFilter(cutoff_frequency_hz=230.0, gain_db=-24.0, q=0.7),
        pedalboard.HighShelfFilter(cutoff_frequency_hz=400.0, gain_db=-24.0, q=0.7),
    )
    return _through(filters, middle, rate_hz)


def loudness(stereo: Samples, rate_hz: int, *, raised: float = 1.0) -> float:
    """Ungated K-weighted power of ITU-R BS.1770-4: mean square of both channels after its two filters.

    ``raised``: as if every frequency were so many times higher.
    Its pre-filter (a shelf of +4 dB above 1.68 kHz) and its RLB high-pass (38 Hz) are applied as magnitudes
    to block spectra.
    """
    size = 8_192
    window = np.hanning(size)
    weights = _k_weight(raised * np.asarray(np.fft.rfftfreq(size, 1 / rate_hz), np.float64))
    total, blocks = 0.0, 0
    padded = np.pad(stereo, ((0, max(0, size - stereo.shape[0])), (0, 0)))
    for first in range(0, padded.shape[0] - size + 1, size):
        spectrum = np.abs(np.fft.rfft(padded[first : first + size].T * window)) ** 2
        total += float((spectrum * weights).sum())
        blocks += 1
    return total / (blocks * float((window**2).sum()) * size / 2)


def _k_weight(hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Power response of the K weighting: both filters of BS.1770-4 as analogue prototypes.

    Shelf: f0 1681.97 Hz, +4.00 dB, Q 0.7072; high-pass: f0 38.135 Hz, Q 0.5003 (the parameters from which the
    standard's 48 kHz coefficients follow by the bilinear transform).
    """
    s = 1j * hz / 1_681.97
    high, root = 10.0 ** (4.0 / 20.0), 10.0 ** (4.0 / 40.0)
    shelf = (high * s * s + root / 0.7072 * s + 1.0) / (s * s + s / 0.7072 + 1.0)
    s = 1j * hz / 38.135
    high_pass = s * s / (s * s + s / 0.5003 + 1.0)
    return np.asarray(np.abs(shelf * high_pass) ** 2)


def _as_loud(part: Samples, whole: Samples, rate_hz: int) -> Samples:
    wanted, given = loudness(whole, rate_hz), loudness(part, rate_hz)
    gain = min(np.sqrt(wanted / given), _gain(MOST_GAIN_DB)) if given > 0.0 else 1.0
    peak = float(np.abs(part).max(initial=0.0))
    # A recording that itself goes over full scale may stay there; emphasis must not make it so.
    ceiling = max(CEILING, float(np.abs(whole).max(initial=0.0)))
    return np.asarray(part * min(gain, ceiling / peak if peak > 0.0 else 1.0), np.float32)


def _gain(db: float) -> float:
    return float(10.0 ** (db / 20.0))


def _through(filters: Iterable[pedalboard.Plugin], stereo: Samples, rate_hz: int) -> Samples:
    missing = max(0, _FEWEST - stereo.shape[0])  # pedalboard tells channels from samples by which is more
    done = np.ascontiguousarray(np.pad(stereo, ((0, missing), (0, 0))).T, np.float32)
    for one in filters:
        done = one(done, rate_hz)
    return np.ascontiguousarray(done.T[: stereo.shape[0]], np.float32)
