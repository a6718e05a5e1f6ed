"""Computed instruments: sums of exact harmonics, so that each note has exactly the pitch it is asked for.

All partials of a tone are powers of one complex exponential: the n-th oscillates at n·f0 and dies at a rate
that grows linearly with n, which is how the losses of a string are usually modelled to first order (Fletcher
and Rossing, *The Physics of Musical Instruments*, chapter 2). A tone then costs one exponential and one
multiplication a partial (Horner's scheme). Strings are rendered without inharmonicity: for ear training an
exact pitch is worth more than the last bit of likeness.
"""

import math
from collections.abc import Sequence
from typing import assert_never

import numpy as np
from numpy.typing import NDArray

from coach.tones.prompt import Timbre

Audio = NDArray[np.float32]
"""Samples of shape (n,) or, stereo, (n, 2), full scale ±1."""
_Real = NDArray[np.float64]
_TOP_HZ = 9_000.0
"""Partials above it add hiss, not pitch."""
_MOST_PARTIALS = 40
RELEASE_S = 0.05
"""A note fades out within its last 50 ms: a raised cosine leaves no click."""
_ATTACK_S = 0.008
"""Strings speak within 8 ms: quick enough to be plucked, slow enough to begin without a click."""
VOWEL_HZ = ((700.0, 130.0, 1.0), (1150.0, 140.0, 0.55), (2650.0, 200.0, 0.2), (3400.0, 250.0, 0.12))
"""Centre, width and strength of the formants of an open vowel. Rounded from Peterson and Barney 1952 (ah)."""


def partial_count(hz: float, rate_hz: int) -> int:
    """Partials that lie under 9 kHz and under nine tenths of the Nyquist frequency, at least one."""
    return max(1, min(_MOST_PARTIALS, int(min(_TOP_HZ, 0.45 * rate_hz) / hz)))


def harmonics(phasor: NDArray[np.complex128], amplitudes: Sequence[float]) -> _Real:
    """Sum of ``a_n · Im(phasor^n)``, n from 1.

    Parameters
    ----------
    phasor
        The first partial as a complex signal, shape (n,); its modulus is its decay beyond the common one.
    amplitudes
        Of the partials from the first on.
    """
    total = np.zeros_like(phasor)
    for amplitude in reversed(amplitudes):
        total += amplitude
        total *= phasor
    return total.imag


def vowel_gain(hz: float) -> float:
    """Strength of a partial of an open vowel: formant peaks over a falling glottal spectrum."""
    peaks = sum(strength / (1.0 + ((hz - centre) / width) ** 2) for centre, width, strength in VOWEL_HZ)
    return (peaks + 0.04) / math.sqrt(max(1.0, hz / 200.0))


def edges(count: int, rate_hz: int, attack_s: float, release_s: float) -> _Real:
    """A raised-cosine rise and fall over ``count`` samples, 1 between; shortened for short notes."""
    shape = np.ones(count)
    rise, fall = min(round(attack_s * rate_hz), count // 4), min(round(release_s * rate_hz), count // 2)
    if rise > 0:
        shape[:rise] *= 0.5 - 0.5 * np.cos(math.pi * np.arange(rise) / rise)
    if fall > 0:
        shape[-fall:] *= 0.5 + 0.5 * np.cos(math.pi * np.arange(1, fall + 1) / fall)
    return shape


def pluck(
    hz: float, duration_s: float, rate_hz: int, *, place: float = 0.21, darkness: float = 1.25
) -> Audio:
    """A plucked string.

    Parameters
    ----------
    hz
        Fundamental frequency, above zero.
    duration_s, rate_hz
        Length and sample rate.
    place
        Where the string is plucked, as a share of its length from the bridge: partial n is weighted by
        ``|sin(πn·place)|`` (Fletcher and Rossing, chapter 2).
    darkness
        Exponent of the fall of the partials.

    Returns
    -------
    Audio
        Shape (n,), peak 1.
    """
    time = _time(hz, duration_s, rate_hz)
    amplitudes = [
        abs(math.sin(math.pi * n * place)) / n**darkness for n in range(1, partial_count(hz, rate_hz) + 1)
    ]
    pitch = (hz / 110.0) ** 0.4
    tone = harmonics(_phasor(hz, time, 0.15 * pitch), amplitudes) * np.exp(-0.7 * pitch * time)
    return _finished(tone, rate_hz, _ATTACK_S)


def piano(hz: float, duration_s: float, rate_hz: int) -> Audio:
    """A struck string, peak 1: the first sound dies quickly, the rest slowly (Weinreich 1977)."""
    time = _time(hz, duration_s, rate_hz)
    count = partial_count(hz, rate_hz)
    amplitudes = [
        (0.15 + abs(math.sin(math.pi * n / 8))) / n**1.3 * math.exp(-n / 14) for n in range(1, count + 1)
    ]
    pitch = (hz / 220.0) ** 0.5
    envelope = 0.55 * np.exp(-5.0 * pitch * time) + 0.45 * np.exp(-0.8 * pitch * time)
    return _finished(harmonics(_phasor(hz, time, 0.2 * pitch), amplitudes) * envelope, rate_hz, _ATTACK_S)


def voice(hz: float, duration_s: float, rate_hz: int) -> Audio:
    """A steady sung vowel without vibrato, peak 1."""
    time = _time(hz, duration_s, rate_hz)
    amplitudes = [vowel_gain(n * hz) for n in range(1, partial_count(hz, rate_hz) + 1)]
    return _finished(harmonics(_phasor(hz, time, 0.0), amplitudes), rate_hz, 0.06)


def reed(hz: float, duration_s: float, rate_hz: int) -> Audio:
    """A held tone in which odd partials prevail, peak 1."""
    time = _time(hz, duration_s, rate_hz)
    count = min(12, partial_count(hz, rate_hz))
    amplitudes = [(1.0 if n % 2 else 0.35) / n**1.4 for n in range(1, count + 1)]
    envelope = 0.75 + 0.25 * np.exp(-3.0 * time)
    return _finished(harmonics(_phasor(hz, time, 0.0), amplitudes) * envelope, rate_hz, 0.03)


def drone(hz: float, duration_s: float, rate_hz: int) -> Audio:
    """A soft held tone that comes and goes slowly, peak 1; strong low partials make it easy to tune to."""
    time = _time(hz, duration_s, rate_hz)
    count = min(10, partial_count(hz, rate_hz))
    tone = harmonics(_phasor(hz, time, 0.0), [1.0 / n**1.1 for n in range(1, count + 1)])
    return _finished(tone, rate_hz, min(0.3, duration_s / 4), min(0.3, duration_s / 3))


def tone(timbre: Timbre, hz: float, duration_s: float, rate_hz: int) -> Audio:
    """One note on a computed instrument, shape (n,), peak 1, soft at both ends."""
    match timbre:
        case Timbre.PLUCK:
            return pluck(hz, duration_s, rate_hz)
        case Timbre.DEEP:
            return pluck(hz, duration_s, rate_hz, place=0.35, darkness=1.9)
        case Timbre.PIANO:
            return piano(hz, duration_s, rate_hz)
        case Timbre.VOICE:
            return voice(hz, duration_s, rate_hz)
        case Timbre.REED:
            return reed(hz, duration_s, rate_hz)
        case Timbre.DRONE:
            return drone(hz, duration_s, rate_hz)
        case _:
            assert_never(timbre)


def _time(hz: float, duration_s: float, rate_hz: int) -> _Real:
    if hz <= 0.0 or duration_s <= 0.0 or rate_hz < 8_000:
        raise ValueError(f"no such tone: {hz} Hz for {duration_s} s at {rate_hz} samples a second")
    return np.arange(max(8, round(duration_s * rate_hz))) / rate_hz


def _phasor(hz: float, time: _Real, loss: float) -> NDArray[np.complex128]:
    return np.asarray(np.exp((2j * math.pi * hz - loss) * time))


def _finished(signal: _Real, rate_hz: int, attack_s: float, release_s: float = RELEASE_S) -> Audio:
    shaped = signal * edges(len(signal), rate_hz, attack_s, release_s)
    return np.asarray(shaped / max(1e-12, float(np.abs(shaped).max())), np.float32)
