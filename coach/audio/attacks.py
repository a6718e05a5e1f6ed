"""Where plucks, strikes and clicks begin, for keeping them sharp when the sound between them is stretched.

Only sharp rises are wanted: a bowed or sung note that swells is stretched as a whole, and so is a beat
between two held notes, which swells too. What tells them apart is that an attack has new high partials.
"""

import numpy as np
from numpy.typing import NDArray

from coach.sessions.ports import Samples

FRAME_S = 0.0015
"""Energy is counted in frames of this length: the accuracy of a found attack."""

BEFORE_S, AFTER_S = 0.018, 0.012
"""What is compared: before, longer than a period of the lowest string (12 ms); after, the new sound."""

HIGH_HZ = 2_200.0
"""Above this the high partials are counted."""

HIGH_RISE_DB = 4.0
"""A rise of the high partials that is an attack (measured: tests/bench/slowdown.py)."""

FULL_RISE_DB = 14.0
"""A rise of the whole sound that is an attack without any high partials: no beat rises so fast."""

FLOOR_DB = -70.0
"""What stays below this level, against full scale, is noise."""

_FLOOR_HZ = 200.0
"""A tone of this frequency at the floor's level stands for the floor of the first difference."""

_JUMP, _STIR = 4.0, 2.0
"""An attack is surely there at four times the energy before it (6 dB); its foot is where it doubles."""

_SURE_SHARE, _STIR_SHARE = 0.05, 0.003
"""The same in shares of the attack's peak: after silence the faint pre-echo of a codec is no attack."""

APART_S = 0.050
"""Attacks nearer than this are one: a strum, two hands not quite together."""

REACH_S = 0.030
"""An attack's main rise follows its first stir, such as a pick's scrape, within this time."""

_RISE_WINDOW_S = 0.003
_LOW_SHARE, _HIGH_SHARE = 0.1, 0.9
"""The main rise goes from a tenth to nine tenths of the way up (as rise times are told; common practice)."""

_WINDOW = 512
_STEP_FRAMES = 2_048


def find_attacks(sound: Samples, rate_hz: int) -> NDArray[np.int64]:
    """First samples of sharp attacks, ascending.

    Parameters
    ----------
    sound
        Shape (n, channels).
    rate_hz
        Samples a second.

    Notes
    -----
    Energy is compared before and after every frame: of the sound, of its first difference (in which a soft
    note is not hidden by a low one), and of its high partials; local maxima of the rise count.
    """
    frame = max(1, round(FRAME_S * rate_hz))
    if sound.shape[0] < 2 * frame:
        return np.zeros(0, np.int64)
    floor = 10.0 ** (FLOOR_DB / 10.0)
    plain, slope, high = _frame_energies(sound, frame, rate_hz)
    whole = (_Rise(plain, floor), _Rise(slope, floor * (2.0 * np.pi * _FLOOR_HZ / rate_hz) ** 2))
    return np.array(_peaks(whole, _Rise(high, floor)), np.int64) * frame


def main_rise(sound: Samples, attack: int, rate_hz: int) -> int:
    """The sample at which the main rise of an attack begins, at or after its first sample.

    Parameters
    ----------
    sound
        Shape (n, channels).
    attack
        One of `find_attacks`.
    rate_hz
        Samples a second.

    Notes
    -----
    Looked for in the first difference, in which high partials weigh more, above the level before.
    """
    width = max(1, round(_RISE_WINDOW_S * rate_hz))
    first = max(0, attack - round(BEFORE_S * rate_hz))
    part = sound[first : attack + round(REACH_S * rate_hz)].astype(np.float64)
    energy = (np.diff(part, axis=0) ** 2).sum(axis=1)
    if attack - first < width or len(energy) < 2 * width:
        return attack
    envelope = np.sqrt(np.convolve(energy, np.ones(width) / width, "same"))
    floor = float(np.median(envelope[: attack - first]))
    rise = float(envelope.max()) - floor
    at = int(np.argmax(envelope >= floor + _HIGH_SHARE * rise))
    while at > 0 and envelope[at] > floor + _LOW_SHARE * rise:
        at -= 1
    return max(attack, first + at)


class _Rise:
    """By how much an energy rises at each frame."""

    def __init__(self, energy: NDArray[np.float64], floor: float) -> None:
        before, after = round(BEFORE_S / FRAME_S), round(AFTER_S / FRAME_S)
        sums = np.concatenate(([0.0], np.cumsum(energy)))
        at = np.arange(len(energy))
        self.energy = energy
        self.past = (sums[at] - sums[np.maximum(at - before, 0)]) / before + floor
        coming = (sums[np.minimum(at + after, len(energy))] - sums[at]) / after + floor
        self.db = 10.0 * np.log10(coming / self.past)

    def foot(self, peak: int) -> int:
        """The frame in which the rise around ``peak`` begins."""
        reach = round(AFTER_S / FRAME_S)
        first = max(0, peak - reach)
        near = self.energy[first : peak + reach]
        top = float(near.max(initial=0.0))
        jump = np.flatnonzero(near > max(_JUMP * self.past[peak], _SURE_SHARE * top))
        at = first + int(jump[0]) if len(jump) else peak
        stir = max(_STIR * self.past[first], _STIR_SHARE * top)
        while at > first and self.energy[at - 1] > stir:
            at -= 1
        return max(0, at - 1)


def _frame_energies(sound: Samples, frame: int, rate_hz: int) -> tuple[NDArray[np.float64], ...]:
    """Mean squares of the sound, of its first difference, of its high partials; by parts, to spare memory."""
    count = sound.shape[0] // frame
    plain, slope, high = np.zeros(count), np.zeros(count), np.zeros(count)
    for first in range(0, count, _STEP_FRAMES):
        last = min(count, first + _STEP_FRAMES)
        part = sound[max(0, first * frame - 1) : last * frame].astype(np.float64)
        if first == 0:
            part = np.concatenate([part[:1], part])
        plain[first:last] = (part[1:] ** 2).sum(axis=1).reshape(-1, frame).mean(axis=1)
        slope[first:last] = (np.diff(part, axis=0) ** 2).sum(axis=1).reshape(-1, frame).mean(axis=1)
        high[first:last] = _high_energy(sound, first, last, frame, rate_hz)
    return plain, slope, high


def _high_energy(sound: Samples, first: int, last: int, frame: int, rate_hz: int) -> NDArray[np.float64]:
    """Mean square above `HIGH_HZ` in windows around frames first to last."""
    half = _WINDOW // 2
    begin, end = first * frame + frame // 2 - half, (last - 1) * frame + frame // 2 + half
    part = sound[max(0, begin) : end]
    part = np.pad(part, ((max(0, -begin), max(0, end - begin - part.shape[0] - max(0, -begin))), (0, 0)))
    window = np.hanning(_WINDOW) ** 2
    scale = 2.0 / (_WINDOW * float((window**2).sum()))
    lowest = int(np.ceil(HIGH_HZ * _WINDOW / rate_hz))
    total = np.zeros(last - first)
    for channel in part.T:
        views = np.lib.stride_tricks.sliding_window_view(channel, _WINDOW)[::frame]
        spectra = np.fft.rfft(views * window, axis=1)[:, lowest:]
        total += scale * (np.abs(spectra) ** 2).sum(axis=1)
    return total


def _peaks(whole: tuple[_Rise, _Rise], high: _Rise) -> list[int]:
    """First frames of the strongest rises, at least `APART_S` apart, in order."""
    apart = round(APART_S / FRAME_S)
    one, other = whole
    full = np.maximum(one.db, other.db)
    strength = np.maximum(full, high.db)
    rises = (high.db >= HIGH_RISE_DB) | (full >= FULL_RISE_DB)
    rises[-round(2 * AFTER_S / FRAME_S) :] = False  # the end of a sound is an edge of its own
    candidates = np.flatnonzero(rises)
    taken = np.zeros(len(strength), np.bool_)
    chosen: set[int] = set()
    for peak in candidates[np.argsort(-strength[candidates], kind="stable")]:
        if not taken[peak]:
            taken[max(0, peak - apart) : peak + apart] = True
            stronger = one if one.db[peak] >= other.db[peak] else other
            chosen.add((stronger if stronger.db[peak] >= HIGH_RISE_DB else high).foot(int(peak)))
    return sorted(chosen)
