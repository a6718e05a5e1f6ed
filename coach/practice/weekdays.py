"""How likely the player practises on each weekday, learned from few weeks.

A weekday is a usual one or another one. The shares of a player's usual weekdays are alike, more or less, and
so are those of the others: what one weekday shows tells about the rest. How many weekdays are usual, how
reliable the player is on them and how much alike they are is weighed over a grid of possible answers; then
each weekday is a beta draw (a hierarchical beta-binomial model: Gelman et al., Bayesian Data Analysis, 3rd
ed. 2013, section 5.3).
"""

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, product
from random import Random

USUAL_MEANS = ((0.45, 0.05), (0.6, 0.1), (0.72, 0.15), (0.82, 0.25), (0.9, 0.25), (0.96, 0.2))
"""Possible mean shares of the usual weekdays, and how likely each is. Our own assumption, no source."""
USUAL_ALIKE = ((2.5, 0.2), (15.0, 0.4), (80.0, 0.4))
"""How much alike they may be, as a number of days' worth of evidence, and how likely each is. Our own."""
OTHER_MEANS = (0.02, 0.06, 0.13, 0.25)
OTHER_ALIKE = 15.0
USUAL_COUNTS = tuple((half + 0.5) / 7 for half in range(7))
"""Chance of a weekday to be a usual one: any number of them a week is as likely. Our own assumption."""
KEPT_WORDS = ((0.95, 0.8), (0.65, 0.2))
"""Where the player has said on which weekdays to practise: chance that one of these, and none of the others,
is a usual one, and how likely that is. Our own assumption."""

Seen = tuple[float, float]
"""How often a weekday was practised, and how often it was let pass."""


@dataclass(frozen=True, slots=True)
class _Possible:
    """One possible player: usual and other weekdays as beta priors; each weekday's chance to be usual."""

    usual: tuple[float, float]
    other: tuple[float, float]
    chances: tuple[float, ...]


def weekday_shares(
    seen: Sequence[Seen], rng: Random, meant: Collection[int] = ()
) -> Iterator[tuple[float, ...]]:
    """Shares of the weekdays that fit what was seen of each, by chance, without end.

    Parameters
    ----------
    seen
        Of Monday to Sunday; zeros where nothing is known.
    meant
        Weekdays (0 is Monday) on which the player means to practise; none: not said.
    """
    players, weights = _players(seen, _expected(meant))
    reached = list(accumulate(weights))
    while True:
        player = rng.choices(players, cum_weights=reached)[0]
        yield tuple(
            _share(player.usual if rng.random() < chance else player.other, each, rng)
            for chance, each in zip(player.chances, seen, strict=True)
        )


def _share(prior: tuple[float, float], seen: Seen, rng: Random) -> float:
    return rng.betavariate(prior[0] + seen[0], prior[1] + seen[1])


def _expected(meant: Collection[int]) -> list[tuple[tuple[float, ...], float]]:
    """Chances of Monday to Sunday to be usual before anything was seen, and how likely each set is."""
    if not meant:
        return [((each,) * 7, 1.0) for each in USUAL_COUNTS]
    return [
        (tuple(kept if day in meant else 1 - kept for day in range(7)), likely) for kept, likely in KEPT_WORDS
    ]


def _players(
    seen: Sequence[Seen], expected: Sequence[tuple[tuple[float, ...], float]]
) -> tuple[list[_Possible], list[float]]:
    """All possible players of the grid, and how likely each is after what was seen."""
    players, weights = [], []
    others = [_beta(mean, OTHER_ALIKE) for mean in OTHER_MEANS]
    other_evidence = [[_evidence(prior, each) for each in seen] for prior in others]
    for (mean, often), (alike, likely) in product(USUAL_MEANS, USUAL_ALIKE):
        usual = _beta(mean, alike)
        evidence = [_evidence(usual, each) for each in seen]
        for other, beside in zip(others, other_evidence, strict=True):
            for usually, chance in expected:
                as_usual = [u * each for u, each in zip(usually, evidence, strict=True)]
                as_other = [(1 - u) * each for u, each in zip(usually, beside, strict=True)]
                either = [a + b for a, b in zip(as_usual, as_other, strict=True)]
                chances = tuple(a / e for a, e in zip(as_usual, either, strict=True))
                players.append(_Possible(usual, other, chances))
                weights.append(often * likely * chance * math.prod(either))
    return players, weights


def _beta(mean: float, alike: float) -> tuple[float, float]:
    return mean * alike, (1 - mean) * alike


def _evidence(prior: tuple[float, float], seen: Seen) -> float:
    """How likely the days seen are under a beta prior (the beta-Bernoulli marginal)."""
    yes, no = prior
    return math.exp(_log_beta(yes + seen[0], no + seen[1]) - _log_beta(yes, no))


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
