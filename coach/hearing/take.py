"""What a recorded take of two lines holds: where something is plucked, and which pitches begin there.

A string that goes on ringing sounds before an onset and after it; one that is plucked sounds louder after
it. So each onset is heard by the rise of the spectrum over the moment before it, and that rise alone is split
into pitches: ringing strings cancel out.
"""

import math
from bisect import bisect_left
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from coach.hearing.decimate import Decimator
from coach.hearing.evidence.spectrum import BINS_PER_SEMITONE, GRID_LOW_MIDI, Floats
from coach.hearing.frames import RATE_HZ
from coach.hearing.onsets import Onset, OnsetDetector
from coach.hearing.take_rise import STIFFNESS, Rises

NEAR_S = 0.06
"""A moment that is asked about belongs to an onset at most so far away."""
DEAD_DB = -75.0
"""An onset whose loudest rise lies below (in dB of full scale) is a noise in the room."""

OVERTONE_NUMBERS = {12: 2, 19: 3, 24: 4, 28: 5, 31: 6, 34: 7, 36: 8}
"""Which partial of a note lies so many semitones over it (harmonic series, rounded to equal temperament)."""
MOST_PARTIALS = 24
"""No higher ones are looked at."""
LOWEST_DB = -60.0
"""Levels of what rises end here, against the most of the onset."""
_PAD_S = 0.4
"""Silence put before and after the take, so that its first and last onset are looked at like any other."""
_PAD_SAMPLES = round(_PAD_S * RATE_HZ)


@dataclass(frozen=True, slots=True)
class Beginning:
    """What begins at one onset.

    Parameters
    ----------
    time_s
        Seconds from the start of the take.
    strength
        Of the onset, see `coach.hearing.onsets.Onset`.
    lowest_midi
        Pitch of the first entry of ``rises``.
    rises
        How strongly each pitch begins here, against the strongest one of this onset: 0 to 1.
    level
        The strongest rise of this onset against the strongest of the take, 0 to 1.
    sounding
        How strongly each pitch sounds after the onset, whether it begins or rings on, against the strongest.
    levels_db
        What rises on the grid of `coach.hearing.evidence.spectrum`, in dB against the most, -60 at least.
    """

    time_s: float
    strength: float
    lowest_midi: int
    rises: tuple[float, ...] = field(repr=False)
    level: float = 1.0
    sounding: tuple[float, ...] = field(default=(), repr=False)
    levels_db: tuple[float, ...] = field(default=(), repr=False)

    def of(self, midi: int) -> float:
        """How strongly a pitch begins, 0 outside the guitar's range."""
        return self._entry(self.rises, midi)

    def sounds(self, midi: int) -> float:
        """How strongly a pitch sounds after the onset, 0 outside the guitar's range."""
        return self._entry(self.sounding, midi)

    def stands_out_db(self, lower_midi: int, midi: int) -> float | None:
        """By how much the overtones that a lower note shares with a pitch stand out among its others.

        Where the lower note sounds alone, its overtones fall off evenly; where the pitch sounds with it,
        those that both share are stronger than the stronger of their neighbours (a plucked string lacks
        some). ``None`` where the pitch is no overtone.
        """
        number = OVERTONE_NUMBERS.get(midi - lower_midi)
        if number is None or not self.levels_db:
            return None
        shared = [
            self._partial(lower_midi, at)
            - max(self._partial(lower_midi, at - 1), self._partial(lower_midi, at + 1))
            for at in (number, 2 * number, 3 * number)
            if self._bin(lower_midi, at + 1) + 1 < len(self.levels_db) and at <= MOST_PARTIALS
        ]
        return sum(shared) / len(shared) if shared else None

    def _partial(self, midi: int, number: int) -> float:
        """Level of a partial in dB."""
        place = self._bin(midi, number)
        return max(self.levels_db[max(0, place - 1) : place + 2])

    @staticmethod
    def _bin(midi: int, number: int) -> int:
        sharp = math.sqrt(1 + STIFFNESS * number * number)
        return round((midi + 12 * math.log2(number * sharp) - GRID_LOW_MIDI) * BINS_PER_SEMITONE)

    def _entry(self, values: tuple[float, ...], midi: int) -> float:
        place = midi - self.lowest_midi
        return values[place] if 0 <= place < len(values) else 0.0

    def strongest(self, least: float = 0.0) -> tuple[tuple[int, float], ...]:
        """Pitches that begin at least so strongly, and how strongly; strongest first."""
        found = [(self.lowest_midi + i, rise) for i, rise in enumerate(self.rises) if rise >= least]
        return tuple(sorted(found, key=lambda each: -each[1]))


@dataclass(frozen=True, slots=True)
class TakeEvidence:
    """All beginnings of a take, rising in time; plain numbers that may cross into packages without numpy."""

    duration_s: float
    beginnings: tuple[Beginning, ...] = field(repr=False)

    @property
    def onsets(self) -> tuple[Onset, ...]:
        """Times and strengths alone."""
        return tuple(Onset(each.time_s, each.strength) for each in self.beginnings)

    def near(self, time_s: float, within_s: float = NEAR_S) -> Beginning | None:
        """The nearest beginning at a moment, ``None`` where nothing begins."""
        place = bisect_left(self.beginnings, time_s, key=lambda each: each.time_s)
        around = self.beginnings[max(0, place - 1) : place + 1]
        best = min(around, key=lambda each: abs(each.time_s - time_s), default=None)
        return best if best is not None and abs(best.time_s - time_s) <= within_s else None

    def begins(self, time_s: float, midi: int) -> float:
        """How strongly a pitch begins at a moment, 0 to 1."""
        there = self.near(time_s)
        return 0.0 if there is None else there.of(midi)

    def instead(self, time_s: float, midi: int) -> int | None:
        """The pitch that begins most strongly at a moment, ``None`` where it is the asked one or none."""
        there = self.near(time_s)
        best = there.strongest(0.5)[:1] if there is not None else ()
        return best[0][0] if best and best[0][0] != midi else None


def take_evidence(samples: NDArray[np.float32], rate_hz: int) -> TakeEvidence:
    """Hear a whole take.

    Parameters
    ----------
    samples
        Mono, shape (n,), full scale ±1: two lines plucked on one guitar.
    rate_hz
        4 kHz to 384 kHz.
    """
    if samples.ndim != 1:
        raise ValueError("one channel of samples is wanted")
    decimator = Decimator(rate_hz)
    narrow = np.concatenate([decimator.push(np.asarray(samples, np.float32)), decimator.flush()])
    duration_s = len(samples) / rate_hz
    # A moment of silence before and after: the detector settles in it, and hears a take's very first note.
    padded = np.concatenate([np.zeros(_PAD_SAMPLES, np.float32), narrow, np.zeros(_PAD_SAMPLES, np.float32)])
    onsets = [
        Onset(max(0.0, onset.time_s - _PAD_S), onset.strength)
        for onset in OnsetDetector().found(padded)
        if onset.time_s - _PAD_S < duration_s
    ]
    if not onsets:
        return TakeEvidence(duration_s, ())
    rises = Rises.of(narrow, [onset.time_s for onset in onsets])
    return TakeEvidence(duration_s, _beginnings(onsets, rises))


def _beginnings(onsets: list[Onset], rises: Rises) -> tuple[Beginning, ...]:
    loudest = rises.strengths.max(axis=1)
    least = 10 ** (DEAD_DB / 20)
    most = max(float(loudest.max()), least)
    return tuple(
        Beginning(
            onset.time_s,
            onset.strength,
            rises.lowest_midi,
            _shares(rises.strengths[index]),
            float(loudest[index] / most),
            _shares(rises.sounding[index]),
            _decibels(rises.levels[index]),
        )
        for index, onset in enumerate(onsets)
        if loudest[index] > least
    )


def _shares(row: Floats) -> tuple[float, ...]:
    """Values against the largest, as plain numbers."""
    return tuple(round(float(value), 4) for value in row / max(float(row.max()), 1e-12))


def _decibels(row: Floats) -> tuple[float, ...]:
    levels = 20 * np.log10(np.maximum(row / max(float(row.max()), 1e-12), 10 ** (LOWEST_DB / 20)))
    return tuple(round(float(value), 1) for value in levels)
