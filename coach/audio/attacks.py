"""Where plucks, strikes and clicks begin, for keeping them sharp when the sound between them is stretched.

Only sharp rises are wanted: a bowed or sung note that swells is stretched as a whole.
"""

import numpy as np
from numpy.typing import NDArray

from coach.sessions.ports import Samples

FRAME_S = 0.0015
"""Energy is counted in frames of this length: the accuracy of a found attack."""

BEFORE_S, AFTER_S = 0.018, 0.012
"""What is compared: before, longer than a period of the lowest string (12 ms); after, the new sound."""

RISE_DB = 4.0
"""A rise from one to the other that counts as an attack: at 6 dB a quarter of the lone notes in mixes is
missed, at 3 dB a third of what is found is none (measured; see tests/bench/slowdown.py)."""

FLOOR_DB = -70.0
"""Attacks below this level, against full scale, are noise."""

_FLOOR_HZ = 200.0
"""A tone of this frequency at the floor's level stands for the floor of the first difference."""

_JUMP, _STIR = 4.0, 2.0
"""An attack is surely there at four times the energy before it (6 dB); its foot is where it doubles."""

APART_S = 0.050
"""Attacks nearer than this are one: a strum, two hands not quite together."""


def find_attacks(stereo: Samples, rate_hz: int) -> NDArray[np.int64]:
    """First samples of sharp attacks, ascending.

    Parameters
    ----------
    stereo
        Shape (n, 2).
    rate_hz
        Samples a second.

    Notes
    -----
    Energy is compared before and after every frame, of the sound and of its first difference (which weighs up
    the high partials that make an attack sharp, where a low note hides it); local maxima of the rise count.
    """
    frame = max(1, round(FRAME_S * rate_hz))
    if stereo.shape[0] < 2 * frame:
        return np.zeros(0, np.int64)
    floor = 10.0 ** (FLOOR_DB / 10.0)
    plain, slope = _frame_energies(stereo, frame)
    one = _Rise(plain, floor)
    other = _Rise(slope, floor * (2.0 * np.pi * _FLOOR_HZ / rate_hz) ** 2)
    return np.array(_peaks(one, other), np.int64) * frame


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
        jump = np.flatnonzero(near > _JUMP * self.past[peak])
        at = first + int(jump[0]) if len(jump) else peak
        while at > first and self.energy[at - 1] > _STIR * self.past[first]:
            at -= 1
        return max(0, at - 1)


def _frame_energies(stereo: Samples, frame: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean square of the sound and of its first difference in frames; by parts, to spare memory."""
    count = stereo.shape[0] // frame
    plain, slope = np.zeros(count), np.zeros(count)
    step = 4_096
    for first in range(0, count, step):
        last = min(count, first + step)
        part = stereo[max(0, first * frame - 1) : last * frame].astype(np.float64)
        if first == 0:
            part = np.concatenate([part[:1], part])
        plain[first:last] = (part[1:] ** 2).sum(axis=1).reshape(-1, frame).mean(axis=1)
        slope[first:last] = (np.diff(part, axis=0) ** 2).sum(axis=1).reshape(-1, frame).mean(axis=1)
    return plain, slope


def _peaks(one: _Rise, other: _Rise) -> list[int]:
    """First frames of the strongest rises, at least `APART_S` apart, in order."""
    apart = round(APART_S / FRAME_S)
    best = np.maximum(one.db, other.db)
    candidates = np.flatnonzero(best >= RISE_DB)
    taken = np.zeros(len(best), np.bool_)
    chosen: set[int] = set()
    for peak in candidates[np.argsort(-best[candidates], kind="stable")]:
        if not taken[peak]:
            taken[max(0, peak - apart) : peak + apart] = True
            chosen.add((one if one.db[peak] >= other.db[peak] else other).foot(int(peak)))
    return sorted(chosen)
