"""On which days and for how long the player works on the piece: as said, and as the last weeks show."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.practice.weekdays import weekday_shares

WINDOW_DAYS = 56
"""Habits older than eight weeks no longer count."""
PIECE_SHARE = 0.6
"""Share of the minutes a day that goes to the piece (the product's own rule)."""
PRIOR_SESSIONS = 1.0
"""How many own days weigh as much as the minutes asked for in the settings."""
SESSION_SPREAD = 0.3
"""Relative spread of the minutes before any are known. Our own assumption."""
LEAST_BREAK_DAYS = 5
PRIOR_BREAKS = (1.0, 90.0)
"""Gamma prior of breaks: one in 90 practised days. Our own assumption."""
PRIOR_BREAK_DAYS = 8.0
PRIOR_BREAK_WEIGHT = 3.0
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
    meant
        Weekdays (0 is Monday) on which the player means to practise; empty: not said.
    """

    practised: tuple[int, ...]
    missed: tuple[int, ...]
    minutes: tuple[float, ...]
    asked_minutes: float
    breaks: tuple[int, ...]
    absent: bool
    meant: frozenset[int] = frozenset()

    @classmethod
    def of(cls, progress: Progress, settings: Settings, today: date) -> "Habits":
        """As learned from the days before today (and today, if it was practised)."""
        days = _practised_days(progress, today)
        asked = settings.minutes_a_day * PIECE_SHARE
        meant = frozenset(settings.practice_days)
        if not days:
            return cls((0,) * 7, (0,) * 7, (), asked, (), absent=False, meant=meant)
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
        minutes = _minutes([spent for _, spent in days])
        return cls(tuple(practised), tuple(missed), minutes, asked, tuple(over), absent, meant)

    def draws(self, rng: Random) -> Iterator["DrawnHabits"]:
        """Habits that fit what is known, by chance, without end."""
        seen = tuple(zip(self.practised, self.missed, strict=True))
        count, exposure = PRIOR_BREAKS
        count, exposure = count + len(self.breaks) + self.absent, exposure + sum(self.practised)
        known, length = PRIOR_BREAK_WEIGHT + len(self.breaks), self._break_days()
        for shares in weekday_shares(seen, rng, self.meant):
            rate = min(0.5, rng.gammavariate(count, 1.0) / exposure)
            # The mean of an exponential length is as well known as its gamma posterior is narrow.
            days = length * known / rng.gammavariate(known + 1, 1.0)
            yield DrawnHabits(shares, self._drawn_minutes(rng), rate, days, self.absent)

    def _break_days(self) -> float:
        """Mean length of a break beyond the shortest one."""
        beyond = PRIOR_BREAK_DAYS - LEAST_BREAK_DAYS
        seen = sum(days - LEAST_BREAK_DAYS for days in self.breaks)
        return (beyond * PRIOR_BREAK_WEIGHT + seen) / (PRIOR_BREAK_WEIGHT + len(self.breaks))

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


@dataclass(frozen=True, slots=True)
class DrawnHabits:
    """One possible set of habits: shares by weekday, minutes of sessions, breaks (days beyond the least)."""

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
        return LEAST_BREAK_DAYS + int(rng.expovariate(1.0 / max(1.0, self.break_days)))


def _practised_days(progress: Progress, today: date) -> list[tuple[date, float]]:
    """Practised days of the window with their minutes on the piece, in order."""
    first = today - timedelta(days=WINDOW_DAYS)
    recent = progress.days_since(first)
    return [(day.day, day.piece_s / 60) for day in recent if day.practised and day.day <= today]


def _minutes(spent: list[float]) -> tuple[float, ...]:
    """Minutes on the piece since the first of them; a day for the ear alone is one of none."""
    first = next((index for index, minutes in enumerate(spent) if minutes > 0), len(spent))
    return tuple(spent[first:])


def _least_break(days: list[date], today: date) -> int:
    """From how many days without practice on it is a break for this player."""
    usual = max(1.0, (today - days[0]).days / len(days))
    return max(LEAST_BREAK_DAYS, round(3 * usual))
