"""A whole recording of plucked strings: one result for each string as it was plucked."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coach.hearing.decimate import Decimator
from coach.hearing.tuner import STANDARD_TUNING, WITHIN_CENTS, Tuner, TunerReading
from coach.music.tuning_system import A4_HZ

_GAP_S = 0.3
_SAME_CENTS = 25.0
_LEAST_READINGS = 3
_SETTLED_S = 0.15
"""A plucked string starts a little sharp: its first moments are left out where there are later ones."""
_JUDGED_S = 1.3
"""What a player hears and tunes by; strings drift down later, recorded ones by up to 4 cents (measured)."""


@dataclass(frozen=True, slots=True)
class TunedString:
    """One pluck: the string meant, its note, cents off (median), and the last words on it.

    ``steady`` and ``in_tune`` tell whether it ever was so; ``at_s`` is the middle of the judged part.
    """

    string: int
    target_midi: int
    cents: float
    steady: bool
    in_tune: bool
    warn_over_tight: bool
    at_s: float


def tune(
    samples: NDArray[np.float32],
    rate_hz: int,
    *,
    tuning: tuple[int, ...] = STANDARD_TUNING,
    a4_hz: float = A4_HZ,
    locked_string: int | None = None,
    within_cents: float = WITHIN_CENTS,
) -> tuple[TunedString, ...]:
    """Judge every pluck in a mono recording, shape (n,); see `Tuner` for the other parameters."""
    decimator = Decimator(rate_hz)
    tuner = Tuner(tuning, a4_hz, locked_string, within_cents)
    narrow = np.concatenate([decimator.push(samples), decimator.flush()])
    plucks = _plucks(tuner.readings(narrow))
    return tuple(_judged(pluck) for pluck in plucks if len(pluck) >= _LEAST_READINGS)


def _plucks(readings: tuple[TunerReading, ...]) -> list[list[TunerReading]]:
    plucks: list[list[TunerReading]] = []
    for before, reading in pairwise((None, *readings)):
        if reading is None:
            continue
        goes_on = (
            before is not None
            and before.string == reading.string
            and reading.at_s - before.at_s <= _GAP_S
            and abs(reading.cents - before.cents) <= _SAME_CENTS
        )
        if goes_on:
            plucks[-1].append(reading)
        else:
            plucks.append([reading])
    return plucks


def _judged(pluck: list[TunerReading]) -> TunedString:
    start_s = pluck[0].at_s
    judged = [r for r in pluck if _SETTLED_S <= r.at_s - start_s <= _JUDGED_S] or pluck
    cents = float(np.median([reading.cents for reading in judged]))
    return TunedString(
        string=pluck[0].string,
        target_midi=pluck[0].target_midi,
        cents=cents,
        steady=any(reading.steady for reading in pluck),
        in_tune=any(reading.in_tune for reading in pluck),
        warn_over_tight=any(reading.warn_over_tight for reading in pluck[-_LEAST_READINGS:]),
        at_s=(judged[0].at_s + judged[-1].at_s) / 2,
    )
