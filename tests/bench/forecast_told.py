"""What ``coach today --on DATE --json`` foretells, for simulated learners that the forecast was not tuned on.

Usage: python -m tests.bench.forecast_told [LEARNERS [SEED]]

The learners differ from those of `tests.learners` in everything: how the stages share the time is each
person's own, sections have 2 to 6 bars, chance is log-normal, each weekday has a chance of its own by a way
of living, pauses come after a session and last one to three weeks, and a session is logged in several parts.
All figures are our own assumptions; none is data about people. Everything goes through the event log on disk
and the command line. Coverage and error are counted as in ``tests/bench/forecast.py``.
"""

import json
import math
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from random import Random

from coach.practice.events import (
    Event,
    GridSet,
    KeyChosen,
    PieceChosen,
    PieceFinished,
    SectionRecord,
    SectionsSet,
    TakeKept,
    TimeSpent,
)
from coach.practice.stages import SECTION_STAGES, Stage
from coach.store.log import SqliteLog
from tests.command_line import coach
from tests.learners import settled

MINUTES_A_BAR = {Stage.MELODY: 9.0, Stage.BASS: 6.0, Stage.TOGETHER: 6.0, Stage.PLAYED: 15.0}
PAUSE_CHANCE = 1 / 60
QUITTERS = 0.05
PARTS = 3
LAST_DAY = 720
MOMENTS_AFTER = 2


@dataclass
class Person:
    """One learner: minutes a bar by stage, chance in them, chance of each weekday, minutes, start."""

    bars: tuple[int, ...]
    pace: dict[Stage, float]
    noise: float
    days: tuple[float, ...]
    minutes: float
    start: date
    stops_on: int

    @classmethod
    def drawn(cls, rng: Random) -> "Person":
        factor = rng.lognormvariate(0.0, 0.4)
        way = rng.choice(("working days", "weekends and some", "any day"))
        high = rng.uniform(0.7, 0.95)
        low = rng.uniform(0.05, 0.3)
        many = {"working days": range(5), "weekends and some": (2, 5, 6), "any day": range(7)}[way]
        return cls(
            bars=rng.choice(((4, 4), (2, 6), (4, 6), (6, 6), (4, 4, 4), (2, 4, 6), (6, 4, 6))),
            pace={s: each * factor * rng.lognormvariate(0.0, 0.2) for s, each in MINUTES_A_BAR.items()},
            noise=rng.uniform(0.08, 0.25),
            days=tuple((high if day in many else low) * rng.uniform(0.85, 1.0) for day in range(7)),
            minutes=12 * rng.uniform(0.6, 1.5),
            start=date(2026, 9, 7) + timedelta(days=rng.randint(0, 6)),
            stops_on=rng.randint(10, 60) if rng.random() < QUITTERS else LAST_DAY,
        )

    def sessions(self, rng: Random) -> Iterator[tuple[date, float]]:
        back = 0
        for number in range(self.stops_on):
            day = self.start + timedelta(days=number)
            if number < back or rng.random() >= self.days[day.weekday()]:
                continue
            yield day, self.minutes * rng.lognormvariate(-0.03, 0.25)
            if rng.random() < PAUSE_CHANCE:
                back = number + rng.randint(7, 21)

    def work(self, rng: Random) -> Iterator[tuple[str | None, Stage | None, float, tuple[Event, ...]]]:
        """What has to be done, in order: where, minutes, and the events when it is done."""
        onset = 0
        for place, bars in enumerate(self.bars):
            name = "ABC"[place]
            for stage in SECTION_STAGES:
                minutes = self.pace[stage] * bars * 0.95**place * rng.lognormvariate(0.0, self.noise)
                yield name, stage, minutes, settled(name, stage, onset)
                if place == 0 and stage is Stage.MELODY:
                    yield None, None, rng.uniform(3, 9), (KeyChosen("p", "G", 0, 0, 0.0),)
            onset += 4 * bars
        ending = rng.uniform(8, 16) + sum(self.bars) * rng.uniform(0.5, 1.5)
        yield None, None, ending, (TakeKept("p", "t.flac", 30.0), PieceFinished("p"))


def begun(bars: tuple[int, ...]) -> list[Event]:
    starts = [4 * sum(bars[:place]) for place in range(len(bars) + 1)]
    records = tuple(
        SectionRecord("ABC"[place], Fraction(starts[place]), Fraction(starts[place + 1]))
        for place in range(len(bars))
    )
    grid = GridSet("p", "4/4", Fraction(0), (Fraction(0), Fraction(4)), (0.0, 2.0))
    return [PieceChosen("p", "P", None), grid, SectionsSet("p", records)]


def whole(person: Person, rng: Random) -> list[tuple[date, float, list[Event]]]:
    """All sessions of a learner with their minutes and events."""
    work = list(person.work(rng))
    days: list[tuple[date, float, list[Event]]] = []
    for day, minutes in person.sessions(rng):
        events = begun(person.bars) if not days else []
        left = minutes
        while left > 0 and work:
            section, stage, needed, done = work[0]
            spent = min(left, needed)
            events += [TimeSpent("piece", 60 * spent / PARTS, "p", section, stage)] * PARTS
            left -= spent
            work[0] = (section, stage, needed - spent, done)
            if spent == needed:
                events += done
                work.pop(0)
        days.append((day, minutes - max(0.0, left), events))
        if not work:
            break
    return days if not work else []


@dataclass
class Told:
    """One forecast and what became of it."""

    at_quarter: bool
    inside: bool
    error: float


def follow(person: Person, rng: Random, folder: Path) -> list[Told]:
    """The forecasts on the evening at a quarter and on some later ones; none for who never finishes."""
    days = whole(person, rng)
    if not days:
        return []
    end, total = days[-1][0], sum(minutes for _, minutes, _ in days)
    spent, quarter = 0.0, len(days)
    for index, (_, minutes, _) in enumerate(days):
        spent += minutes
        if spent >= total / 4:
            quarter = index
            break
    later = range(quarter + 1, len(days) - 1)
    chosen = {quarter, *rng.sample(later, min(MOMENTS_AFTER, len(later)))}
    found = []
    for index, (day, _, events) in enumerate(days[:-1]):
        with closing(SqliteLog.writing(folder)) as log:
            for event in events:
                log.append(event, datetime(day.year, day.month, day.day, 18, tzinfo=UTC))
        if index in chosen:
            code, text = coach(folder, "today", "--on", day.isoformat(), "--json")
            assert code == 0, text
            told = {
                key: date.fromisoformat(json.loads(text)["forecast"][key]) for key in ("p10", "p50", "p90")
            }
            error = abs((told["p50"] - end).days) / (end - day).days
            found.append(Told(index == quarter, told["p10"] <= end <= told["p90"], error))
    return found


def row(name: str, seen: list[Told]) -> None:
    inside = statistics.mean(each.inside for each in seen)
    error = statistics.median(each.error for each in seen)
    wide = 1.96 * math.sqrt(inside * (1 - inside) / len(seen))
    print(f"{name:<26} {len(seen):>6}   {inside:6.1%} ± {wide:.1%}   {error:6.1%}")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    began, found = time.perf_counter(), []
    for number in range(count):
        rng = Random(seed * 1_000_003 + number)
        with tempfile.TemporaryDirectory() as name:
            found += follow(Person.drawn(rng), rng, Path(name))
    print(
        f"{count} simulated learners, by the command line\n"
        + " " * 27
        + "forecasts   inside            error"
    )
    row("the evening at a quarter", [each for each in found if each.at_quarter])
    row("a quarter and more", found)
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
