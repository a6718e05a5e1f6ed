"""A whole recording of plucked strings: one result for each string as it was plucked."""

from collections import Counter, defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.decimate import Decimator
from coach.hearing.frames import RATE_HZ
from coach.hearing.tuner.live_tuner import ATTACK_S, FIRST_READINGS, was_struck, wavers, whole_cents
from coach.hearing.tuner.tuner import STEADY_CENTS, Tuner, TunerReading
from coach.music.tuning_system import A4_HZ, STANDARD_STRINGS

_LEAST_READINGS = 3
_SETTLED_S = 0.1
"""A plucked string starts a little sharp: its first moments are left out where there are later ones."""
_JUDGED_S = 0.8
"""What a player hears and tunes by; strings drift down later, recorded ones by up to 4 cents (measured)."""
_SOFTEST_DB = 30.0
"""Softer than the loudest pluck by more, it is a neighbour that rang along, or the room."""


@dataclass(frozen=True, slots=True)
class TunedString:
    """One pluck: the string meant, its note, cents off (median), and the last words on it.

    ``steady`` tells whether five readings in a row agreed with ``cents`` and one another within 2 cents,
    ``in_tune`` whether it ever was so; ``at_s`` is the middle of the judged part.

    What is told is the ideal fundamental f0 of Fletcher's formula, the median from about 0.2 to 1.1 s after
    the attack. Not later, because a struck string starts sharp and sinks: of the spans tried, this one lies
    nearest to Praat, YIN and the median over the whole note together (65 recorded strings, 0.4 to 1.2 cents
    in the mean). Not the period of all partials, as a plain estimator gives it: stiffness pulls that up by 2
    to 4 cents on a steel string, which tuned by it would sound low.
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
    tuning: tuple[int, ...] = STANDARD_STRINGS,
    a4_hz: float = A4_HZ,
) -> tuple[TunedString, ...]:
    """Judge every pluck in a mono recording, shape (n,); see `Tuner` for the other parameters."""
    decimator = Decimator(rate_hz)
    tuner = Tuner(tuning, a4_hz)
    narrow = np.concatenate([decimator.push(samples), decimator.flush()])
    readings = (*tuner.readings(narrow), *tuner.flush())
    by_pluck: defaultdict[int, list[TunerReading]] = defaultdict(list)
    for reading in readings:
        by_pluck[reading.pluck].append(reading)
    loudest_db = max((reading.level_db for reading in readings), default=0.0)
    return tuple(_judged(pluck) for pluck in by_pluck.values() if _is_string(pluck, loudest_db, narrow))


def _is_string(pluck: list[TunerReading], loudest_db: float, narrow: NDArray[np.float32]) -> bool:
    """Whether it rings long, loud and steady enough, and was struck: no voice, hum or knock."""
    if len(pluck) < _LEAST_READINGS or pluck[0].level_db < loudest_db - _SOFTEST_DB:
        return False
    first = pluck[:FIRST_READINGS]
    middle = round(first[0].at_s * RATE_HZ)
    attack = narrow[max(0, middle - round(ATTACK_S * RATE_HZ)) : middle]
    return was_struck(first, attack) and not wavers(first)


def _judged(pluck: list[TunerReading]) -> TunedString:
    start_s = pluck[0].at_s
    judged = [r for r in pluck if _SETTLED_S <= r.at_s - start_s <= _JUDGED_S] or pluck
    meant = Counter(reading.string for reading in judged).most_common(1)[0][0]
    target_midi = next(reading.target_midi for reading in judged if reading.string == meant)
    cents = float(np.median([whole_cents(reading) for reading in judged])) - 100.0 * target_midi
    same = [reading for reading in judged if reading.string == meant]
    return TunedString(
        string=meant,
        target_midi=target_midi,
        cents=cents,
        steady=any(reading.steady and abs(reading.cents - cents) <= STEADY_CENTS for reading in same),
        in_tune=any(reading.in_tune for reading in pluck),
        warn_over_tight=any(reading.warn_over_tight for reading in pluck[-_LEAST_READINGS:]),
        at_s=(judged[0].at_s + judged[-1].at_s) / 2,
    )
