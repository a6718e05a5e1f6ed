"""What is new after an onset: the pitch of a note that starts while others still ring.

The spectrum just before the onset is taken away from the spectrum just after it; what is left belongs to the
new note, and the pitch whose partials hold most of it is found by a weighted harmonic sum (Klapuri 2006).
Measured on overlapping guitar notes it names the new note 64 ms after its onset where a pitch tracker still
hears the old one.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ

_SIZE = 4_096
"""Of the transform: what is looked at is filled up with zeros, for bins of 4 Hz."""
_BIN_HZ = RATE_HZ / _SIZE
SHORTEST_S, LONGEST_S = 0.048, 0.096
"""How much sound on either side of an onset is looked at: from nearly four periods of E2 up."""
_EDGE_S = 0.004
"""Left out on either side of the onset, which is not known better."""
_GRID_MIDI = np.arange(36.0, 91.0, 0.2)
"""The pitches that are tried, C2 to F#6, as MIDI numbers."""
_PARTIALS = 10
"""So many of a pitch are added up; the tenth weighs a quarter of the first."""
_DECAY = 0.86
"""Weight of each partial against the one below it (Klapuri 2006 uses a similar decay); measured."""
_REACH_CENTS = 35.0
"""A partial counts so far from where it is expected: strings are stiff, and an attack bends them."""
_LOWEST_HZ, _HIGHEST_HZ = 60.0, 5_500.0
"""Where partials are looked for: from under the lowest string to short of what 16 kHz hold."""
_GROWN = 1.26
"""2 dB: more than the beating of one string's two polarisations in so short a time; measured."""
_FAINT = 0.003
"""Partials 50 dB under the strongest tell nothing."""
_FLATTENING = 0.6
"""Exponent on magnitudes, so that one loud partial does not outvote the rest; measured."""
_STRING_MIDI = (40.0, 52.0, 57.0, 64.0, 70.0)
_STRING_CONCENTRATION = (0.80, 0.85, 0.90, 1.1, 1.2)
"""Measured on 164 rendered guitar notes (clean, noisy, clipped, dull, in a room): the least was 0.85 below
E3, 0.97 below E4, 1.4 above."""


@dataclass(frozen=True, slots=True)
class Renewal:
    """How far the partials of an old pitch were struck again.

    Parameters
    ----------
    concentration
        How much of what is new lies on them, against an even spread: 1 is by chance.
    share, odd_share
        Share of all, and of the odd ones, that grew by 2 dB.
    """

    concentration: float
    share: float
    odd_share: float


@dataclass(frozen=True, slots=True, eq=False)
class Fresh:
    """The new part of the sound after an onset.

    Parameters
    ----------
    salience
        How well each pitch of the grid explains it, arbitrary units.
    length_s
        How much sound after the onset it rests on.
    share
        Power of the new part over the power of all sound after the onset, 0 to 1.
    level_db
        Level of the new part in dB re full scale.
    fading_db
        How much softer the last quarter of the sound after the onset is than the first.
    before, after
        Magnitude spectra before and after the onset.
    a4_hz
        What MIDI numbers refer to.
    """

    salience: NDArray[np.float64]
    length_s: float
    share: float
    level_db: float
    fading_db: float
    before: NDArray[np.float64]
    after: NDArray[np.float64]
    a4_hz: float

    @property
    def best(self) -> float:
        """The pitch that explains most, as a MIDI number to a tenth of a semitone."""
        return float(_GRID_MIDI[int(np.argmax(self.salience))])

    def support(self, midi: float) -> float:
        """How well a pitch (within a third of a semitone) explains it against the best one, 0 to 1."""
        near = self.salience[np.abs(_GRID_MIDI - midi) <= 0.35]
        top = float(self.salience.max())
        return float(near.max()) / top if len(near) and top > 0.0 else 0.0

    @property
    def fading_db_per_s(self) -> float:
        """How fast the sound after the onset dies away."""
        return self.fading_db / (0.75 * self.length_s)

    def renewal(self, midi: float) -> Renewal:
        """Whether the partials of a pitch that sounded before were struck again."""
        f0_hz = self.a4_hz * 2.0 ** ((midi - 69.0) / 12.0)
        reach = 2.0 ** (_REACH_CENTS / 1200.0)
        on_partial = np.zeros(len(self.after), bool)
        grown: list[bool] = []
        odd: list[bool] = []
        audible = _FAINT * float(self.after.max())
        for number in range(1, int(_HIGHEST_HZ / f0_hz) + 1):
            bins = slice(int(number * f0_hz / reach / _BIN_HZ), int(number * f0_hz * reach / _BIN_HZ) + 2)
            on_partial[bins] = True
            now, then = float(self.after[bins].max()), float(self.before[bins].max())
            if now > audible:
                grown.append(now > _GROWN * then)
                odd += [now > _GROWN * then] * (number % 2)
        heard = slice(round(_LOWEST_HZ / _BIN_HZ), round(_HIGHEST_HZ / _BIN_HZ))
        rise = np.maximum(self.after - self.before, 0.0)[heard] ** _FLATTENING
        on_share = float(rise[on_partial[heard]].sum()) / max(float(rise.sum()), 1e-12)
        return Renewal(
            concentration=on_share / max(float(on_partial[heard].mean()), 1e-9),
            share=sum(grown) / len(grown) if grown else 0.0,
            odd_share=sum(odd) / len(odd) if odd else 0.0,
        )


def string_concentration(midi: float) -> float:
    """From which `Renewal.concentration` on what is new is a string of this pitch, and no bump."""
    return float(np.interp(midi, _STRING_MIDI, _STRING_CONCENTRATION))


def fresh_sound(before: NDArray[np.float32], after: NDArray[np.float32], a4_hz: float) -> Fresh:
    """Analyse equally long pieces of sound (16 kHz, shape (n,)) just before and just after an onset."""
    taper = np.hanning(len(after) + 2)[1:-1]
    new = np.abs(np.fft.rfft(after * taper, _SIZE))
    old = np.abs(np.fft.rfft(before * taper, _SIZE))
    rise = np.maximum(new - old, 0.0)
    power = float((rise**2).sum())
    level = power / (_SIZE * float((taper**2).sum()) / 2.0)
    low, high, weights, norm = _partial_bins(a4_hz)
    flat = rise**_FLATTENING
    salience = np.zeros(len(_GRID_MIDI))
    for number in range(_PARTIALS):
        width = int((high[number] - low[number]).max()) + 1
        bins = np.minimum(low[number][:, np.newaxis] + np.arange(width), high[number][:, np.newaxis])
        salience += weights[number] * flat[bins].max(axis=1)
    return Fresh(
        salience=salience / norm,
        length_s=len(after) / RATE_HZ,
        share=power / max(float((new**2).sum()), 1e-12),
        level_db=10.0 * float(np.log10(level + 1e-12)),
        fading_db=_fading_db(after),
        before=old,
        after=new,
        a4_hz=a4_hz,
    )


def _fading_db(after: NDArray[np.float32]) -> float:
    quarter = len(after) // 4
    first, last = (float(np.mean(part**2)) for part in (after[:quarter], after[-quarter:]))
    return 10.0 * float(np.log10((first + 1e-12) / (last + 1e-12)))


def pieces(
    held: NDArray[np.float32], held_from_s: float, onset_s: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]] | None:
    """The sound before and after an onset out of what is held; ``None`` until enough has followed it."""
    # An onset may be put before the very first sample, where a note sounds from the beginning.
    first = max(0, round((onset_s + _EDGE_S - held_from_s) * RATE_HZ))
    length = min(len(held) - first, round(LONGEST_S * RATE_HZ))
    if length < round(SHORTEST_S * RATE_HZ):
        return None
    end_before = round((onset_s - _EDGE_S - held_from_s) * RATE_HZ)
    before = held[max(0, end_before - length) : max(0, end_before)]
    silence = np.zeros(length - len(before), np.float32)
    return np.concatenate([silence, before]), held[first : first + length]


@lru_cache(maxsize=4)
def _partial_bins(
    a4_hz: float,
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """First and last bin of each partial of each pitch, its weight (0 where too high), and the norm."""
    f0_hz = a4_hz * 2.0 ** ((_GRID_MIDI - 69.0) / 12.0)
    partial_hz = np.arange(1, _PARTIALS + 1)[:, np.newaxis] * f0_hz
    reach = 2.0 ** (_REACH_CENTS / 1200.0)
    low = np.floor(partial_hz / reach / _BIN_HZ).astype(np.int64)
    high = np.ceil(partial_hz * reach / _BIN_HZ).astype(np.int64)
    inside = partial_hz < _HIGHEST_HZ
    weights = _DECAY ** np.arange(_PARTIALS)[:, np.newaxis] * inside
    limit = _SIZE // 2
    norm = np.sqrt(weights.sum(axis=0))
    return np.minimum(low, limit), np.minimum(high, limit), np.asarray(weights), np.asarray(norm)
