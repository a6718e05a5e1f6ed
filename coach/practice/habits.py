"""On which days and for how long the player works on the piece, learned from the last weeks."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from coach.practice.progress import Progress
from coach.practice.settings import Settings

WINDOW_DAYS = 56
"""Habits older than eight weeks no longer count."""
HABIT = (9.0, 1.2)
OTHER = (0.5, 8.0)
"""Beta priors of a weekday on which one usually practises (nine times in ten), and of another (one in 17)."""
HABIT_SHARE = 0.6
"""How many weekdays are usual ones, before anything is known. Our own assumptions, no source."""
PIECE_SHARE = 0.6
"""Share of the minutes a day that goes to the piece (the product's own rule)."""
PRIOR_SESSIONS = 1.0
"""How many own days weigh as much as the minutes asked for in the settings."""
SESSION_SPREAD = 0.3
"""Relative spread of the minutes before any are known. Our own assumption."""
LEAST_BREAK_DAYS = 5
PRIOR_BREAKS = (1.0, 100.0)
"""Gamma prior of breaks: one in a hundred practised days. Our own assumption."""
PRIOR_BREAK_DAYS = 6.0
PRIOR_BREAK_WEIGHT = 2.0
"""Mean length of a break, and how many breaks that is worth. Our own assumption."""


@dataclass(frozen=True, slots=True)
class Habits:
    """What is known about the practice days.

    Parameters
    ----------
    practised, missed
        By weekday (0 is Monday), breaks left out.
    minutes
        Minutes on the piece of each practised day, oldest first.
    asked_minutes
        Minutes on the piece that the settings ask for.
    breaks
        Lengths in days of the breaks that are over.
    absent
        Whether the player is in a break now.
    """

    practised: tuple[int, ...]
    missed: tuple[int, ...]
    minutes: tuple[float, ...]
    asked_minutes: float
    breaks: tuple[int, ...]
    absent: bool

    @classmethod
    def of(cls, progress: Progress, settings: Settings, today: date) -> "Habits":
        """As learned from the days before today (and today, if it was practised)."""
        days = _practised_days(progress, today)
        asked = settings.minutes_a_day * PIECE_SHARE
        if not days:
            return cls((0,) * 7, (0,) * 7, (), asked, (), absent=False)
        least = _least_break([day for day, _ in days], today)
        last_open = today if days[-1][0] == today else today - timedelta(days=1)
        practised, missed, breaks = [0] * 7, [0] * 7, []
        following = [day for day, _ in days[1:]] + [last_open + timedelta(days=1)]
        for (day, _), after in zip(days, following, strict=True):
            practised[day.weekday()] += 1
            gap = (after - day).days - 1
            if gap >= least:
                breaks.append(gap)
                continue
            for step in range(1, gap + 1):
                missed[(day + timedelta(days=step)).weekday()] += 1
        absent = (last_open - days[-1][0]).days >= least
        over = breaks[:-1] if absent else breaks
        minutes = tuple(spent for _, spent in days if spent > 0)
        return cls(tuple(practised), tuple(missed), minutes, asked, tuple(over), absent)

    def draws(self, rng: Random) -> Iterator["DrawnHabits"]:
        """Habits that fit what is known, by chance, without end."""
        usual = self._habit_share()
        seen = tuple(zip(self.practised, self.missed, strict=True))
        likely = [_usual_chance(k, m, usual) for k, m in seen]
        count, exposure = PRIOR_BREAKS
        count, exposure = count + len(self.breaks) + self.absent, exposure + sum(self.practised)
        length = (PRIOR_BREAK_DAYS * PRIOR_BREAK_WEIGHT + sum(self.breaks)) / (
            PRIOR_BREAK_WEIGHT + len(self.breaks)
        )
        while True:
            shares = tuple(_drawn_share(k, m, p, rng) for (k, m), p in zip(seen, likely, strict=True))
            rate = min(0.5, rng.gammavariate(count, 1.0) / exposure)
            yield DrawnHabits(shares, self._drawn_minutes(rng), rate, length, self.absent)

    def _habit_share(self) -> float:
        """How many weekdays are usual ones, once some were seen."""
        seen = [(k, m) for k, m in zip(self.practised, self.missed, strict=True) if k + m]
        likely = sum(_log_evidence(HABIT, k, m) > _log_evidence(OTHER, k, m) for k, m in seen)
        return (likely + 5 * HABIT_SHARE) / (len(seen) + 5)

    def _drawn_minutes(self, rng: Random) -> tuple[float, ...]:
        """Twelve days' minutes: own ones (a bootstrap), and as asked for while there are few."""
        own = len(self.minutes) / (len(self.minutes) + PRIOR_SESSIONS)
        level = max(0.2, rng.gauss(1.0, SESSION_SPREAD))
        return tuple(
            rng.choice(self.minutes)
            if self.minutes and rng.random() < own
            else self.asked_minutes * level * max(0.2, rng.gauss(1.0, SESSION_SPREAD))
            for _ in range(12)
        )


def _usual_chance(practised: int, missed: int, usual: float) -> float:
    """How likely a weekday is a usual one, by how well that explains what was seen (Bayes' rule)."""
    habit = usual * math.exp(_log_evidence(HABIT, practised, missed))
    other = (1 - usual) * math.exp(_log_evidence(OTHER, practised, missed))
    return habit / (habit + other)


def _drawn_share(practised: int, missed: int, usual_chance: float, rng: Random) -> float:
    """A weekday's share, as a usual day or as another."""
    yes, no = HABIT if rng.random() < usual_chance else OTHER
    return rng.betavariate(yes + practised, no + missed)


def _log_evidence(prior: tuple[float, float], practised: int, missed: int) -> float:
    """Log of how likely the days seen are under a beta prior (the beta-Bernoulli marginal)."""
    yes, no = prior
    return _log_beta(yes + practised, no + missed) - _log_beta(yes, no)


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


@dataclass(frozen=True, slots=True)
class DrawnHabits:
    """One possible set of habits: shares by weekday, minutes of sessions, breaks."""

    shares: tuple[float, ...]
    minutes: tuple[float, ...]
    break_rate: float
    break_days: float
    absent: bool

    def sessions(self, first: date, rng: Random) -> Iterator[tuple[int, float]]:
        """Days (counted from ``first``) and minutes of the sessions to come, without end."""
        away = self._break(rng) if self.absent else 0
        offset, weekday = away, (first.weekday() + away) % 7
        while True:
            if rng.random() < self.shares[weekday]:
                yield offset, rng.choice(self.minutes)
                away = self._break(rng) if rng.random() < self.break_rate else 0
            else:
                away = 0
            offset += 1 + away
            weekday = (weekday + 1 + away) % 7

    def _break(self, rng: Random) -> int:
        """Length of a break: the shortest and an exponential rest."""
        return LEAST_BREAK_DAYS + int(rng.expovariate(1.0 / max(1.0, self.break_days - LEAST_BREAK_DAYS)))


def _practised_days(progress: Progress, today: date) -> list[tuple[date, float]]:
    """Practised days of the window with their minutes on the piece, in order."""
    first = today - timedelta(days=WINDOW_DAYS)
    recent = progress.days_since(first)
    return [(day.day, day.piece_s / 60) for day in recent if day.practised and day.day <= today]


def _least_break(days: list[date], today: date) -> int:
    """From how many days without practice on it is a break for this player."""
    usual = max(1.0, (today - days[0]).days / len(days))
    return max(LEAST_BREAK_DAYS, round(3 * usual))
