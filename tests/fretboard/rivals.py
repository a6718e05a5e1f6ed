"""Two other ways to find the best fingering, to compare the solver with; they share no code with it.

A plain branch and bound over places, fingers and positions, and a model for OR-tools' CP-SAT. The costs are
written down a second time, from the table of soft costs.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, product

from ortools.sat.python import cp_model

from coach.notation import Arrangement

SCALE_MM = 650.0
SPANS = {
    "starter": {(1, 2): 70, (1, 3): 100, (1, 4): 100, (2, 3): 40, (2, 4): 70, (3, 4): 40},
    "seasoned": {(1, 2): 100, (1, 3): 115, (1, 4): 128, (2, 3): 67, (2, 4): 90, (3, 4): 50},
}
MAX_FRET = {"starter": 12, "seasoned": 15}
MAX_POSITION = {"starter": 9, "seasoned": 12}
PER_FRET = {"starter": 0.30, "seasoned": 0.10}
ASKING = {"starter": 7, "seasoned": 15}
OPEN_STRINGS = (64, 59, 55, 50, 45, 40)
Place = tuple[int, int, int]
"""String, fret, finger (0 open)."""


@dataclass(slots=True)
class Sound:
    """A note that the hand holds."""

    onset: Fraction
    end: Fraction
    midi: int


@dataclass(frozen=True, slots=True)
class Problem:
    """Notes to hold, and at each onset which of them sound."""

    sounds: list[Sound]
    onsets: list[Fraction]
    sounding: list[list[int]]
    reach: str
    capo: int = 0

    @classmethod
    def of(cls, arrangement: Arrangement, reach: str) -> "Problem":
        """Merge unisons, end repeated pitches, and list what sounds at each onset."""
        notes = sorted(
            ((n.onset, n.end, n.midi) for line in arrangement.lines for n in line), key=lambda n: n[0]
        )
        sounds: list[Sound] = []
        for onset, end, midi in notes:
            twin = next((s for s in sounds if s.onset == onset and s.midi == midi), None)
            if twin is not None:
                twin.end = max(twin.end, end)
                continue
            for sound in sounds:
                if sound.midi == midi and sound.end > onset:
                    sound.end = onset
            sounds.append(Sound(onset, end, midi))
        onsets = sorted({sound.onset for sound in sounds})
        sounding = [[i for i, s in enumerate(sounds) if s.onset <= t < s.end] for t in onsets]
        return cls(sounds, onsets, sounding, reach, arrangement.capo)

    def x(self, fret: int) -> float:
        """Distance from the capo in mm."""
        return SCALE_MM * (2 ** (-self.capo / 12) - 2 ** (-(self.capo + fret) / 12))

    def places(self, index: int) -> list[Place]:
        """All places of a note."""
        found: list[Place] = []
        for string, midi in enumerate(OPEN_STRINGS, 1):
            fret = self.sounds[index].midi - midi - self.capo
            if fret == 0:
                found.append((string, 0, 0))
            elif 0 < fret <= MAX_FRET[self.reach] - self.capo:
                found += [(string, fret, finger) for finger in (1, 2, 3, 4)]
        return found

    def positions(self) -> range:
        """All positions."""
        return range(1, MAX_POSITION[self.reach] - self.capo + 1)

    def near(self, place: Place, position: int) -> bool:
        """Whether a finger is near enough to its home."""
        _, fret, finger = place
        home = position + finger - 1
        return finger == 0 or (abs(fret - home) <= 1 and abs(self.x(fret) - self.x(home)) <= 37 + 1e-9)

    def pair(self, one: Place, other: Place) -> bool:
        """Whether two places can be held together."""
        if one[0] == other[0]:
            return False
        if 0 in {one[2], other[2]}:
            return True
        if one[2] == other[2]:
            return one[2] == 1 and one[1] == other[1]
        low, high = sorted((one, other), key=lambda place: place[2])
        distance = self.x(high[1]) - self.x(low[1])
        return -1e-9 <= distance <= SPANS[self.reach][low[2], high[2]] + 1e-9

    def strike_cost(self, place: Place) -> float:
        """Of striking a note there."""
        _, fret, finger = place
        high = 3.0 if fret > ASKING[self.reach] else 0.0
        return PER_FRET[self.reach] * fret + {3: 0.1, 4: 0.3}.get(finger, 0.0) + high

    def off_home(self, place: Place, position: int) -> float:
        """Of a finger away from home."""
        _, fret, finger = place
        return 0.03 * abs(self.x(fret) - self.x(position + finger - 1)) if finger else 0.0

    def pair_cost(self, one: Place, other: Place, position: int) -> float:
        """Of two pressed fingers together."""
        if 0 in {one[2], other[2]}:
            return 0.0
        if one[2] == other[2]:
            return 2.5 + 0.3 * abs(one[0] - other[0])
        low, high = sorted((one, other), key=lambda place: place[2])
        natural = self.x(position + high[2] - 1) - self.x(position + low[2] - 1)
        wide = 0.02 * max(0.0, self.x(high[1]) - self.x(low[1]) - natural)
        return wide + (0.7 if low[1] == high[1] and low[0] < high[0] else 0.0)

    def clash(self, one: Place, other: Place) -> float:
        """Of two thumb strings struck together."""
        return 1.0 if one[0] >= 4 and other[0] >= 4 else 0.0

    def struck(self, at: int) -> list[int]:
        """The notes struck at an onset."""
        return [i for i in self.sounding[at] if self.sounds[i].onset == self.onsets[at]]


def moment_cost(problem: Problem, at: int, chosen: dict[int, Place], position: int) -> float:
    """Of one onset, without the move into it; infinite if it breaks a rule."""
    places = [chosen[i] for i in problem.sounding[at]]
    pairs = list(combinations(places, 2))
    if not all(problem.pair(*pair) for pair in pairs) or not all(problem.near(p, position) for p in places):
        return math.inf
    struck = problem.struck(at)
    total = sum(problem.strike_cost(chosen[i]) for i in struck)
    total += sum(problem.off_home(place, position) for place in places)
    total += sum(problem.pair_cost(*pair, position) for pair in pairs)
    return total + sum(problem.clash(chosen[i], chosen[j]) for i, j in combinations(struck, 2))


def move_cost(problem: Problem, at: int, chosen: dict[int, Place], old: int, new: int) -> float:
    """Of the move into an onset."""
    before, after = problem.sounding[at - 1], problem.sounding[at]
    total = 0.0
    if old != new:
        total += 2.0 + 0.02 * abs(problem.x(new) - problem.x(old))
        total += 3.0 if any(i in before and chosen[i][2] for i in after) else 0.0
    for i in after:
        for j in before:
            again = i not in before and j not in after and problem.sounds[i].midi == problem.sounds[j].midi
            total += 2.0 if again and chosen[i] != chosen[j] else 0.0
    for finger in (1, 2, 3, 4):
        was = sorted(chosen[i][:2] for i in before if chosen[i][2] == finger)
        now = sorted(chosen[i][:2] for i in after if chosen[i][2] == finger)
        if was and now and was != now:
            total += 0.5 if was[0][0] == now[0][0] else 1.5
    return total


def branch_and_bound(problem: Problem) -> float:
    """Least cost over all fingerings, infinite if there is none; for a handful of onsets."""
    best = math.inf
    rest = _least_ahead(problem)

    def options(at: int, chosen: dict[int, Place], old: int) -> Iterator[tuple[float, dict[int, Place], int]]:
        struck = problem.struck(at)
        for places in product(*(problem.places(i) for i in struck)):
            now = {**chosen, **dict(zip(struck, places, strict=True))}
            for position in problem.positions():
                cost = moment_cost(problem, at, now, position)
                if cost < math.inf:
                    yield cost + (move_cost(problem, at, now, old, position) if at else 0.0), now, position

    def search(at: int, chosen: dict[int, Place], old: int, cost: float) -> None:
        nonlocal best
        if at == len(problem.onsets):
            best = min(best, cost)
            return
        for more, now, position in sorted(options(at, chosen, old), key=lambda option: option[0]):
            if cost + more + rest[at + 1] >= best - 1e-9:
                return
            search(at + 1, now, position, cost + more)

    search(0, {}, 0, 0.0)
    return best


def _least_ahead(problem: Problem) -> list[float]:
    """For each onset a bound from below on the cost of what follows: the strikes alone."""
    found = [0.0]
    for at in range(len(problem.onsets) - 1, -1, -1):
        least = sum(
            min((problem.strike_cost(p) for p in problem.places(i)), default=0.0) for i in problem.struck(at)
        )
        found.append(found[-1] + least)
    return found[::-1]


UNITS = 10_000
"""CP-SAT counts in whole numbers: tenths of a thousandth of a point."""


def cp_sat(problem: Problem, seconds: float = 20.0) -> float | None:
    """Least cost by OR-tools, infinite if there is none, ``None`` if time ran out; without any barre.

    A barre would need terms over sets of fingers; compare with the solver told to use none.
    """
    if not all(problem.places(i) for i in range(len(problem.sounds))):
        return math.inf
    rows = _Rows(problem)
    for at in range(len(problem.onsets)):
        rows.shape(at)
        rows.pairs(at)
        if at:
            rows.shift(at)
            rows.fingers(at)
    rows.model.minimize(sum(round(cost * UNITS) * var for var, cost in rows.terms))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(rows.model)
    if status == cp_model.INFEASIBLE:
        return math.inf
    return solver.objective_value / UNITS if status == cp_model.OPTIMAL else None


class _Rows:
    """The CP-SAT model, built moment by moment."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.terms: list[tuple[cp_model.IntVar, float]] = []
        self.places = [problem.places(i) for i in range(len(problem.sounds))]
        self.here = [[self.model.new_bool_var("") for _ in options] for options in self.places]
        self.hand = [
            {position: self.model.new_bool_var("") for position in problem.positions()}
            for _ in problem.onsets
        ]
        for row in [*self.here, *(list(there.values()) for there in self.hand)]:
            self.model.add_exactly_one(row)

    def pay(self, cost: float, *together: cp_model.IntVar) -> None:
        if cost > 0:
            paid = self.model.new_bool_var("")
            self.model.add_bool_or([*(lit.negated() for lit in together), paid])
            self.terms.append((paid, cost))

    def never(self, *together: cp_model.IntVar) -> None:
        self.model.add_bool_or([lit.negated() for lit in together])

    def shape(self, at: int) -> None:
        problem, struck = self.problem, self.problem.struck(at)
        for i in problem.sounding[at]:
            for place, lit in zip(self.places[i], self.here[i], strict=True):
                if i in struck:
                    self.pay(problem.strike_cost(place), lit)
                for position, there in self.hand[at].items():
                    if problem.near(place, position):
                        self.pay(problem.off_home(place, position), lit, there)
                    else:
                        self.never(lit, there)

    def pairs(self, at: int) -> None:
        problem, struck = self.problem, self.problem.struck(at)
        for i, j in combinations(problem.sounding[at], 2):
            for (one, lit), (other, lit2) in self._both(i, j):
                if not problem.pair(one, other) or one[2] == other[2] != 0:
                    self.never(lit, lit2)
                    continue
                if i in struck and j in struck:
                    self.pay(problem.clash(one, other), lit, lit2)
                for position, there in self.hand[at].items():
                    if problem.near(one, position) and problem.near(other, position):
                        self.pay(problem.pair_cost(one, other, position), lit, lit2, there)

    def shift(self, at: int) -> None:
        problem = self.problem
        held = [i for i in problem.sounding[at] if i in problem.sounding[at - 1]]
        pressed = [
            lit for i in held for place, lit in zip(self.places[i], self.here[i], strict=True) if place[2]
        ]
        for old, new in product(self.hand[at - 1], self.hand[at]):
            if old != new:
                moved = (self.hand[at - 1][old], self.hand[at][new])
                self.pay(2.0 + 0.02 * abs(problem.x(new) - problem.x(old)), *moved)
                for lit in pressed:
                    self.pay(3.0, lit, *moved)

    def fingers(self, at: int) -> None:
        problem = self.problem
        before, after = problem.sounding[at - 1], problem.sounding[at]
        for i, j in product(after, before):
            if i in before:
                continue
            again = j not in after and problem.sounds[i].midi == problem.sounds[j].midi
            for (now, lit), (was, lit2) in self._both(i, j):
                cost = 2.0 if again and now != was else 0.0
                if now[2] and now[2] == was[2] and now[:2] != was[:2]:
                    cost += 0.5 if now[0] == was[0] else 1.5
                self.pay(cost, lit, lit2)

    def _both(
        self, i: int, j: int
    ) -> Iterator[tuple[tuple[Place, cp_model.IntVar], tuple[Place, cp_model.IntVar]]]:
        return product(
            zip(self.places[i], self.here[i], strict=True), zip(self.places[j], self.here[j], strict=True)
        )
