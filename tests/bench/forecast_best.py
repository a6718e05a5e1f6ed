"""What anyone could tell at best about the learners of `tests.learners` who has nothing but their log.

The forecaster here knows exactly how those learners are made, which `coach.practice.forecast` does not: it
draws learners who fit the log from the very distributions that they come from. What it errs is not known
from the log; what `known_days` of `tests.bench.forecast` errs is chance to come.

All three parts are weighed by Bayes' rule (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013): the pace by
importance sampling from the prior (section 10.4), habits over all sets of weekdays with the days at home and
in breaks summed over by the forward algorithm (Rabiner 1989), the minutes of a session over a grid.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations
from random import Random

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc, gammaln, ndtr

from coach.practice.events import LoggedEvent, TimeSpent
from coach.practice.habits import PIECE_SHARE
from coach.practice.piece_state import Cell, PieceState
from coach.practice.stages import SECTION_STAGES, Stage
from tests.learners import (
    ASKED_MINUTES,
    FASTER,
    MINUTES_A_BAR,
    MINUTES_TO_CHOOSE,
    SAY_WRONG,
    SECTION_BARS,
    Learner,
)

Floats = NDArray[np.float64]
PACES, HABITS, MINUTES = 20_000, 100, 161
"""How many paces are drawn, how many habits for each set of weekdays, and how fine the grid of minutes is."""
_SETS = [frozenset(days) for count in range(2, 8) for days in combinations(range(7), count)]
_EVER = 1e-300


def fitting_learners(
    learner: Learner, log: Sequence[LoggedEvent], piece: PieceState, today: date, rng: Random, count: int
) -> Iterator[Learner]:
    """Learners who could have written this log, by chance; ``learner`` lends only what is no secret."""
    numbers = np.random.default_rng(rng.getrandbits(32))
    sessions = _sessions(log)
    paces = _paces(piece, numbers, count)
    habits = _habits(learner, list(sessions), today, numbers, count)
    minutes = _minutes(learner, list(sessions.values()), numbers, count)
    for (pace, noise), habit, session in zip(paces, habits, minutes, strict=True):
        yield replace(learner, pace=pace, noise=noise, minutes=session, stops_on=None, **habit)


def _sessions(log: Sequence[LoggedEvent]) -> dict[date, float]:
    spent: dict[date, float] = defaultdict(float)
    for logged in log:
        if isinstance(logged.event, TimeSpent):
            spent[logged.at.date()] += logged.event.seconds / 60
    return spent


def _paces(
    piece: PieceState, numbers: np.random.Generator, count: int
) -> Iterator[tuple[dict[Stage, float], float]]:
    factor = numbers.lognormal(0.0, 0.45, PACES)
    pace = {stage: factor * numbers.lognormal(0.0, 0.12, PACES) for stage in SECTION_STAGES}
    noise = numbers.uniform(0.1, 0.25, PACES)
    shape, weight = 1 / noise**2, np.zeros(PACES)
    for place, section in enumerate(piece.sections):
        for stage in SECTION_STAGES:
            minutes = section.seconds.get(stage, 0.0) / 60
            rate = shape / (MINUTES_A_BAR[stage] * SECTION_BARS * pace[stage] * FASTER**place)
            if section.cell(stage) is Cell.SETTLED:
                weight += shape * np.log(rate) - gammaln(shape) + (shape - 1) * math.log(minutes)
                weight -= rate * minutes
            elif minutes > 0:
                weight += np.log(np.maximum(_EVER, gammaincc(shape, rate * minutes)))
    for index in _drawn(np.exp(weight - weight.max()), numbers, count):
        yield {stage: float(each[index]) for stage, each in pace.items()}, float(noise[index])


def _habits(
    learner: Learner, days: list[date], today: date, numbers: np.random.Generator, count: int
) -> Iterator[dict[str, object]]:
    told = frozenset(learner.says.practice_days)
    likely = {days: _likely(days, told) for days in _SETS}
    sets = [days for days, chance in likely.items() if chance > 0]
    many = HABITS * len(sets)
    usual = np.repeat(np.array([[day in days for day in range(7)] for days in sets]), HABITS, axis=0)
    weight = np.repeat(np.array([likely[days] for days in sets]), HABITS)
    keeps, extra = numbers.uniform(0.8, 0.98, many), numbers.uniform(0.0, 0.1, many)
    rate, length = 1 / numbers.uniform(80, 300, many), numbers.uniform(2, 8, many)
    shares = np.where(usual, keeps[:, None], extra[:, None])
    weight *= _evidence(days, today, shares, rate, length)
    for index in _drawn(weight, numbers, count):
        yield {
            "days": frozenset(np.flatnonzero(usual[index]).tolist()),
            "keeps": float(keeps[index]),
            "extra": float(extra[index]),
            "break_rate": float(rate[index]),
            "break_days": float(length[index]),
        }


def _likely(days: frozenset[int], told: frozenset[int]) -> float:
    """How likely someone has these days and says what was said; one wrong day may be the right one again."""
    prior = 1 / 6 / math.comb(7, len(days))
    if not told:
        return prior
    free = 8 - len(days)
    swapped = len(days - told) == 1 and len(told) == len(days)
    if days == told:
        return prior * (1 - SAY_WRONG + SAY_WRONG / free)
    return prior * SAY_WRONG / len(days) / free if swapped else 0.0


def _evidence(days: list[date], today: date, shares: Floats, rate: Floats, length: Floats) -> Floats:
    """How likely just these days were practised: all ways to have been at home or in a break, summed."""
    first, practised = days[0], set(days)
    dates = [first + timedelta(days=step) for step in range((today - first).days + 1)]
    at_home = [np.ones_like(rate)] + [np.zeros_like(rate) for _ in dates]
    for step, day in enumerate(dates):
        share = shares[:, day.weekday()]
        here = at_home[step]
        at_home[step + 1] += here * (1 - rate) * (share if day in practised else 1 - share)
        free = next((n for n, later in enumerate(dates[step:]) if later in practised), 0)
        for away in range(3, free + 1):
            low, high = max(0.0, away - 3.5), away - 2.5
            at_home[step + away] += here * rate * (np.exp(-low / length) - np.exp(-high / length))
    return at_home[-1]


def _minutes(
    learner: Learner, sessions: list[float], numbers: np.random.Generator, count: int
) -> Iterator[float]:
    grid = np.linspace(0.6, 1.4, MINUTES) * ASKED_MINUTES
    weight = np.zeros_like(grid)
    for spent in sessions:
        weight -= np.log(grid) + (spent / grid - 1) ** 2 / 2 / 0.25**2
    place = MINUTES_TO_CHOOSE.index(learner.says.minutes_a_day)
    below, above = MINUTES_TO_CHOOSE[:place][-1:], MINUTES_TO_CHOOSE[place + 1 :][:1]
    said = MINUTES_TO_CHOOSE[place]
    high = ndtr(np.log((said + above[0]) / 2 * PIECE_SHARE / grid) / 0.15) if above else 1.0
    low = ndtr(np.log((said + below[0]) / 2 * PIECE_SHARE / grid) / 0.15) if below else 0.0
    weight = np.exp(weight - weight.max()) * np.maximum(_EVER, high - low)
    yield from (float(grid[index]) for index in _drawn(weight, numbers, count))


def _drawn(weight: Floats, numbers: np.random.Generator, count: int) -> list[int]:
    return numbers.choice(len(weight), count, p=weight / weight.sum()).tolist()
