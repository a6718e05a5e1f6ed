"""The player's own pace: minutes a bar for each stage, learned from settled stages, with priors before that.

The logarithm of the minutes a bar of one stage of one section is taken as ``prior of the stage + pace of the
player + liking of the player for that stage + practice x log(number of the section) + chance``: the power law
of practice (Newell and Rosenbloom, 1981) with everything else normal. The posterior after each settled stage
is the textbook update of a linear Gaussian model (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013,
section 14.2), one observation at a time. How far people differ from stage to stage, and how much is chance,
is not known beforehand either: several answers stand side by side and are weighed by how well each foretold
what came (the same, section 7.4).
"""

import math
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import accumulate
from operator import mul
from random import Random
from statistics import NormalDist

from coach.practice.piece_state import Cell, PieceState, SectionState
from coach.practice.progress import Progress
from coach.practice.stages import SECTION_STAGES, Stage

PRIOR_MINUTES_A_BAR = {Stage.MELODY: 8.0, Stage.BASS: 7.0, Stage.TOGETHER: 5.0, Stage.PLAYED: 20.0}
"""A beginner's minutes a bar before anything is known. Our own assumption, no source."""
PLAYER_SPREAD = 0.5
"""Standard deviation of a player's log pace around the prior (a factor of 1.6). Our own assumption."""
STAGE_SPREADS = ((0.12, 0.7), (0.45, 0.3))
"""Of a player's liking for one stage over another, in log minutes, and how likely each is: most people are
near the prior's proportions, some far from them. Our own assumption."""
CHANCE_SPREADS = ((0.1, 0.3), (0.19, 0.5), (0.35, 0.2))
"""Of one section's stage around all that, in log minutes, and how likely each is. Our own assumption."""
PRACTICE = (-0.12, 0.08)
"""Exponent of the power law of practice and its spread: the fourth section takes 0.85 of the first. Ours."""
LEAST_SAMPLE_S = 20.0
"""A stage settled in less was not worked on here (notes from a pack, an earlier piece)."""
FOUND_SPREAD, MOST_FOUND = 0.3, 0.95
"""How far the time of a line can be told when half of it is found, in log minutes: some dozen notes of very
unlike length. To hear it through and settle it is left even when all are found. Our own assumptions."""
ENDING_SPREAD = 0.3
"""How far the minutes for joining the sections and for the take differ, in log minutes. Our own."""
MOST_SAMPLES = 48
"""So many settled stages, the latest, tell the pace: who has played for years is not who began."""

_PLACE = {stage: 1 + index for index, stage in enumerate(SECTION_STAGES)}
_LOG_PRIORS = {stage: math.log(minutes) for stage, minutes in PRIOR_MINUTES_A_BAR.items()}
_PRACTICE = 1 + len(SECTION_STAGES)
_COUNT = _PRACTICE + 1


@dataclass(frozen=True, slots=True)
class StageSample:
    """How long one stage of one section took until it was settled; ``number`` counts all sections from 1."""

    stage: Stage
    bars: float
    seconds: float
    number: int = 1


def samples(progress: Progress) -> Iterator[StageSample]:
    """All settled stages whose time is known, over all pieces."""
    before = 0
    for piece in progress.pieces.values():
        for index, section in enumerate(piece.sections):
            yield from _of_section(piece, section, before + index + 1)
        before += sum(section.begun for section in piece.sections)


def sections_before(progress: Progress, piece: PieceState) -> int:
    """How many sections were worked on in the pieces chosen before."""
    ids = list(progress.pieces)
    earlier = (progress.pieces[each] for each in ids[: ids.index(piece.piece)])
    return sum(section.begun for other in earlier for section in other.sections)


def _of_section(piece: PieceState, section: SectionState, number: int) -> Iterator[StageSample]:
    for stage in SECTION_STAGES:
        seconds = section.seconds.get(stage, 0.0)
        if section.cell(stage) is Cell.SETTLED and seconds >= LEAST_SAMPLE_S:
            yield StageSample(stage, section.bars(piece.meter), seconds, number)


@dataclass(frozen=True, slots=True)
class PossiblePace:
    """The pace if people differ so much from stage to stage, and if so much is chance.

    Parameters
    ----------
    mean
        The player's factor on the priors, then those of melody, bass, together, played, then the exponent of
        practice, as logarithms.
    spread
        Their covariance, 6 x 6, in rows.
    chance
        Standard deviation of one stage of one section around them.
    evidence
        Logarithm of how likely this was beforehand, and of how likely it made what was seen since.
    """

    mean: tuple[float, ...]
    spread: tuple[tuple[float, ...], ...]
    chance: float
    evidence: float = 0.0

    @classmethod
    def prior(cls, stage_spread: float, chance: float, likely: float) -> "PossiblePace":
        """Before anything is known."""
        variances = (PLAYER_SPREAD**2, *[stage_spread**2] * len(SECTION_STAGES), PRACTICE[1] ** 2)
        rows = tuple(
            tuple(variance if i == j else 0.0 for j in range(_COUNT)) for i, variance in enumerate(variances)
        )
        return cls((*[0.0] * _PRACTICE, PRACTICE[0]), rows, chance, math.log(likely))

    def after(self, sample: StageSample) -> "PossiblePace":
        """What is known after one more settled stage."""
        place, log_number = _PLACE[sample.stage], math.log(sample.number)
        seen = math.log(sample.seconds / 60 / sample.bars / PRIOR_MINUTES_A_BAR[sample.stage])
        surprise = seen - self.mean[0] - self.mean[place] - log_number * self.mean[_PRACTICE]
        along = [row[0] + row[place] + log_number * row[_PRACTICE] for row in self.spread]
        variance = along[0] + along[place] + log_number * along[_PRACTICE] + self.chance**2
        mean = tuple(m + c / variance * surprise for m, c in zip(self.mean, along, strict=True))
        spread = tuple(
            tuple(value - along[i] * along[j] / variance for j, value in enumerate(row))
            for i, row in enumerate(self.spread)
        )
        told = -0.5 * (math.log(2 * math.pi * variance) + surprise**2 / variance)
        return replace(self, mean=mean, spread=spread, evidence=self.evidence + told)

    def log_minutes_a_bar(self, stage: Stage, number: int) -> float:
        """The most likely logarithm of the minutes for a bar in the so-manieth section of all."""
        factor = self.mean[0] + self.mean[_PLACE[stage]] + self.mean[_PRACTICE] * math.log(number)
        return _LOG_PRIORS[stage] + factor

    def drawer(self) -> Callable[[Random], "DrawnPace"]:
        """Draws paces that fit what is known, by chance."""
        roots = _cholesky(self.spread)

        def draw(rng: Random) -> DrawnPace:
            steps = [rng.gauss(0.0, 1.0) for _ in range(_COUNT)]
            # The matrix is triangular: what lies beyond its diagonal is zero.
            logs = [
                m + sum(map(mul, row[: i + 1], steps))
                for i, (m, row) in enumerate(zip(self.mean, roots, strict=True))
            ]
            middles = {stage: logs[0] + logs[place] + _LOG_PRIORS[stage] for stage, place in _PLACE.items()}
            return DrawnPace(math.exp(logs[0]), middles, logs[_PRACTICE], self.chance)

        return draw


@dataclass(frozen=True, slots=True)
class Pace:
    """What is known about the pace: several possible ones, and the count of settled stages they come from."""

    possible: tuple[PossiblePace, ...]
    count: int = 0

    @classmethod
    def prior(cls) -> "Pace":
        """Before anything is known."""
        return cls(
            tuple(
                PossiblePace.prior(stage, chance, likely * often)
                for stage, likely in STAGE_SPREADS
                for chance, often in CHANCE_SPREADS
            )
        )

    @classmethod
    def of(cls, progress: Progress) -> "Pace":
        """As learned from what was settled last."""
        pace = cls.prior()
        for sample in deque(samples(progress), MOST_SAMPLES):
            pace = pace.after(sample)
        return pace

    def after(self, sample: StageSample) -> "Pace":
        """What is known after one more settled stage."""
        return Pace(tuple(each.after(sample) for each in self.possible), self.count + 1)

    @property
    def weights(self) -> tuple[float, ...]:
        """How likely each possible pace is; together 1."""
        most = max(each.evidence for each in self.possible)
        found = [math.exp(each.evidence - most) for each in self.possible]
        return tuple(each / sum(found) for each in found)

    def minutes_a_bar(self, stage: Stage, number: int = 1) -> float:
        """The most likely minutes for a bar of a stage (the median) in the so-manieth section of all."""
        logs = (each.log_minutes_a_bar(stage, number) for each in self.possible)
        return math.exp(sum(map(mul, self.weights, logs)))

    def draws(self, rng: Random) -> Iterator["DrawnPace"]:
        """Paces that fit what is known, by chance, without end."""
        drawers, weights = [each.drawer() for each in self.possible], list(accumulate(self.weights))
        while True:
            yield rng.choices(drawers, cum_weights=weights)[0](rng)


@dataclass(frozen=True, slots=True)
class DrawnPace:
    """One possible pace: overall factor, log minutes a bar in the first section, practice, chance."""

    factor: float
    log_minutes_a_bar: dict[Stage, float]
    practice: float
    chance: float

    def _middle(self, stage: Stage, bars: float, number: int) -> float:
        return self.log_minutes_a_bar[stage] + math.log(bars) + self.practice * math.log(number)

    def minutes(
        self, stage: Stage, bars: float, number: int, spent_minutes: float, rng: Random, *, found: float = 0.0
    ) -> float:
        """What is left of a stage on which so many minutes were spent and which is not settled yet.

        The whole of it is drawn under the condition that it is longer than what was spent. Where a share
        of its notes is ``found`` (0 to 1), what was spent on them tells about the whole, too: the product of
        both normals, in log minutes (Gelman et al. 2013, section 2.5).
        """
        middle, spread = self._middle(stage, bars, number), self.chance
        if spent_minutes <= 0:
            return math.exp(rng.gauss(middle, spread))
        if found > 0 and spent_minutes * 60 >= LEAST_SAMPLE_S:
            share = min(found, MOST_FOUND)
            doubt = FOUND_SPREAD * math.sqrt((1 - share) / share)
            ours = doubt**2 / (doubt**2 + spread**2)
            middle = ours * middle + (1 - ours) * math.log(spent_minutes / share)
            spread *= math.sqrt(ours)
        return _above(spent_minutes, middle, spread, rng) - spent_minutes

    def ending_minutes(self, usual: float, spent_minutes: float, rng: Random) -> float:
        """What is left of the joining and the take, of which so many minutes are usual at the prior pace."""
        if usual <= 0:
            return 0.0
        middle = math.log(usual * self.factor)
        if spent_minutes <= 0:
            return math.exp(rng.gauss(middle, ENDING_SPREAD))
        return _above(spent_minutes, middle, ENDING_SPREAD, rng) - spent_minutes


_STANDARD = NormalDist()
_FAR = 3.0


def _above(least: float, middle: float, chance: float, rng: Random) -> float:
    """A log-normal draw above a bound, by the inverse of the normal distribution.

    Far out the tail is drawn as exp(-x²/2), which is the normal density's own shape there.
    """
    bound = (math.log(least) - middle) / chance
    if bound > _FAR:
        drawn = math.sqrt(bound**2 + 2.0 * rng.expovariate(1.0))
    else:
        below = _STANDARD.cdf(bound)
        share = below + (1.0 - below) * rng.random()
        drawn = _STANDARD.inv_cdf(min(max(share, 1e-12), 1.0 - 1e-12))
    return max(least, math.exp(middle + chance * drawn))


def _cholesky(rows: tuple[tuple[float, ...], ...]) -> list[list[float]]:
    """Lower triangle L with L Lᵀ = the matrix (Golub and Van Loan, Matrix Computations, algorithm 4.2.1)."""
    size = len(rows)
    root = [[0.0] * size for _ in range(size)]
    for i in range(size):
        for j in range(i + 1):
            rest = rows[i][j] - sum(root[i][k] * root[j][k] for k in range(j))
            if i == j:
                root[i][j] = math.sqrt(max(rest, 0.0))
            else:
                root[i][j] = rest / root[j][j] if root[j][j] > 0 else 0.0
    return root
