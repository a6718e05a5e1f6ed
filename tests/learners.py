"""Simulated learners: whole logs of people who work a piece through, with hidden pace, habits and drop-outs.

They are made otherwise than `coach.practice.forecast` thinks, on purpose: gamma chance in place of
log-normal, fixed days of the week, breaks that begin any day, sections that go faster one after another. All
figures are our own assumptions; none is data about people.
"""

from collections.abc import Generator, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from random import Random

from coach.practice.events import (
    Event,
    KeyChosen,
    LineSettled,
    LineWritten,
    LoggedEvent,
    PieceFinished,
    PlayedSettled,
    SmallerAccepted,
    TakeKept,
    TimeSpent,
    TogetherSettled,
)
from coach.practice.habits import PIECE_SHARE
from coach.practice.settings import Settings
from coach.practice.stages import SECTION_STAGES, Stage
from tests.practice_steps import begun, notes

MINUTES_A_BAR = {Stage.MELODY: 8.0, Stage.BASS: 7.0, Stage.TOGETHER: 5.0, Stage.PLAYED: 20.0}
SECTION_BARS = 4
FASTER = 0.94
"""Each section takes this share of what the one before would have."""
ASKED_MINUTES = 12.0
MINUTES_TO_CHOOSE = (10, 15, 20, 25, 30, 45)
"""What the app offers a day, all together."""
SAY_DAYS, SAY_WRONG = 0.7, 0.3
"""Share of learners who tell the app on which weekdays they mean to practise, and of these, who mean one day
that is not theirs."""
QUITTERS = 0.05
"""Share of learners who one day stop for good."""
LAST_DAY = 720


@dataclass
class Learner:
    """One person: pace by stage, days of the week, minutes, breaks, and when (if ever) they stop for good."""

    sections: tuple[str, ...]
    pace: dict[Stage, float]
    noise: float
    days: frozenset[int]
    keeps: float
    extra: float
    minutes: float
    break_rate: float
    break_days: float
    stops_on: int | None
    start: date
    says: Settings = field(default_factory=Settings)

    @classmethod
    def drawn(cls, rng: Random, *, restless: bool = False) -> "Learner":
        """By chance; people differ widely, but most are much like themselves from one day to the next.

        The restless are not: twice the chance in how long a stage takes and in their days, and a break of
        eleven days about every three months.
        """
        factor = rng.lognormvariate(0.0, 0.45)
        tilt, noise = (0.2, rng.uniform(0.15, 0.4)) if restless else (0.12, rng.uniform(0.1, 0.25))
        learner = cls(
            sections=tuple("ABCD"[: rng.choice([2, 2, 3, 4])]),
            pace={stage: factor * rng.lognormvariate(0.0, tilt) for stage in SECTION_STAGES},
            noise=noise,
            days=frozenset(rng.sample(range(7), rng.randint(2, 7))),
            keeps=rng.uniform(0.7 if restless else 0.8, 0.98),
            extra=rng.uniform(0.0, 0.15 if restless else 0.1),
            minutes=ASKED_MINUTES * rng.uniform(0.6, 1.4),
            break_rate=1 / (rng.uniform(40, 150) if restless else rng.uniform(80, 300)),
            break_days=rng.uniform(3, 14) if restless else rng.uniform(2, 8),
            stops_on=rng.randint(5, 60) if rng.random() < QUITTERS else None,
            start=date(2026, 1, 5) + timedelta(days=rng.randint(0, 6)),
        )
        return replace(learner, says=learner.settings(rng))

    def settings(self, rng: Random) -> Settings:
        """What this learner tells the app beforehand: about right, not quite."""
        wished = self.minutes / PIECE_SHARE * rng.lognormvariate(0.0, 0.15)
        minutes = min(MINUTES_TO_CHOOSE, key=lambda each: abs(each - wished))
        if rng.random() >= SAY_DAYS:
            return Settings(minutes_a_day=minutes)
        days = set(self.days)
        if rng.random() < SAY_WRONG:
            days.remove(rng.choice(sorted(days)))
            days.add(rng.choice([day for day in range(7) if day not in days]))
        return Settings(minutes_a_day=minutes, practice_days=tuple(sorted(days)))

    def needed(self, stage: Stage, place: int, rng: Random) -> float:
        """Minutes for one stage of one section: gamma chance around the learner's own pace."""
        shape = 1 / self.noise**2
        chance = rng.gammavariate(shape, 1 / shape)
        return MINUTES_A_BAR[stage] * SECTION_BARS * self.pace[stage] * FASTER**place * chance

    def sessions(self, rng: Random) -> Iterator[tuple[date, float]]:
        """Days and minutes of the sessions, until they stop for good."""
        back = 0
        for number in range(self.stops_on or LAST_DAY):
            if number < back:
                continue
            if rng.random() < self.break_rate:
                back = number + 3 + round(rng.expovariate(1 / self.break_days))
                continue
            day = self.start + timedelta(days=number)
            if rng.random() < (self.keeps if day.weekday() in self.days else self.extra):
                yield day, self.minutes * max(0.3, rng.gauss(1.0, 0.25))


@dataclass
class Work:
    """What is still to be done, stage by stage, as (events when begun, stage, minutes, events when done)."""

    parts: list[tuple[str | None, Stage | None, float, tuple[Event, ...]]] = field(default_factory=list)

    @classmethod
    def of(cls, learner: Learner, rng: Random) -> "Work":
        work = cls()
        for place, name in enumerate(learner.sections):
            for stage in SECTION_STAGES:
                onset = 4 * SECTION_BARS * place
                work.parts.append(
                    (name, stage, learner.needed(stage, place, rng), settled(name, stage, onset))
                )
                if place == 0 and stage is Stage.MELODY:
                    key = KeyChosen("p", "G", 0, 0, 0.0)
                    work.parts.append((None, None, 6 * learner.pace[stage] * rng.uniform(0.5, 1.5), (key,)))
        bars = SECTION_BARS * len(learner.sections)
        ending = (12 + bars) * learner.pace[Stage.PLAYED] * rng.uniform(0.6, 1.4)
        work.parts.append((None, None, ending, (TakeKept("p", "t.flac", 30.0), PieceFinished("p"))))
        return work

    def accept(self, event: SmallerAccepted) -> None:
        """Leave sections out, or make the bass that is left simpler: then it takes three fifths."""
        self.parts = [part for part in self.parts if part[0] not in event.dropped_sections]
        if not event.dropped_sections:
            self.parts = [
                (part[0], part[1], 0.6 * part[2], part[3]) if part[1] is Stage.BASS else part
                for part in self.parts
            ]


def settled(section: str, stage: Stage, onset: int) -> tuple[Event, ...]:
    """The events that settle a stage."""
    match stage:
        case Stage.MELODY | Stage.BASS:
            written = LineWritten("p", section, stage.value, notes(onset, 60, 62, 64))
            return (written, LineSettled("p", section, stage.value))
        case Stage.TOGETHER:
            return (TogetherSettled("p", section),)
        case _:
            return (PlayedSettled("p", section),)


def whole_log(learner: Learner, rng: Random) -> Generator[list[LoggedEvent], SmallerAccepted | None, None]:
    """The log of a learner day by day, until the piece is finished or they have stopped for good.

    Send a smaller piece of work to have it accepted that evening: it is the first event of the next session.
    """
    work = Work.of(learner, rng)
    seq = 0
    accepted: SmallerAccepted | None = None
    for index, (day, minutes) in enumerate(learner.sessions(rng)):
        events: list[Event] = list(begun(sections=learner.sections)) if index == 0 else []
        if accepted is not None:
            events.append(accepted)
            work.accept(accepted)
        events += worked(work, minutes)
        moment = datetime(day.year, day.month, day.day, 18, tzinfo=UTC)
        accepted = yield [LoggedEvent(seq + i + 1, moment, event) for i, event in enumerate(events)]
        seq += len(events)
        if not work.parts:
            return


def worked(work: Work, minutes: float) -> list[Event]:
    """One session: time goes to what comes next, and what is done is settled."""
    events: list[Event] = []
    while minutes > 0 and work.parts:
        section, stage, needed, done = work.parts[0]
        spent = min(minutes, needed)
        events.append(TimeSpent("piece", 60 * spent, "p", section, stage))
        minutes -= spent
        if spent < needed:
            work.parts[0] = (section, stage, needed - spent, done)
        else:
            events += done
            work.parts.pop(0)
    return events
