"""What the Log shows, as values: days, weeks, skills, the pace of a piece, and a search over events."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from coach.practice.days import Day
from coach.practice.events import LoggedEvent
from coach.practice.pace import Pace, sections_before
from coach.practice.piece_state import PieceState, SectionState
from coach.practice.progress import Progress
from coach.practice.sentences import sentence
from coach.practice.stages import SECTION_STAGES, Stage

STUCK_DAYS = 3
STUCK_FACTOR = 2.0
"""Stuck is who practised on three days and spent twice what a stage usually takes them. Our own rule."""


@dataclass(frozen=True, slots=True)
class WeekMinutes:
    """Minutes of one week, by what they went to; ``monday`` is its first day."""

    monday: date
    tune: float
    ear: float
    piece: float

    @property
    def practice(self) -> float:
        """All of them."""
        return self.tune + self.ear + self.piece


def weeks(days: Iterable[Day]) -> tuple[WeekMinutes, ...]:
    """Minutes a week, oldest first; a week without practice between two others is there, and empty."""
    found: dict[date, WeekMinutes] = {}
    for day in days:
        monday = day.day - timedelta(days=day.day.weekday())
        old = found.get(monday) or WeekMinutes(monday, 0.0, 0.0, 0.0)
        found[monday] = WeekMinutes(
            monday, old.tune + day.tune_s / 60, old.ear + day.ear_s / 60, old.piece + day.piece_s / 60
        )
    if not found:
        return ()
    first, last = min(found), max(found)
    mondays = (first + timedelta(days=7 * week) for week in range((last - first).days // 7 + 1))
    return tuple(found.get(monday) or WeekMinutes(monday, 0.0, 0.0, 0.0) for monday in mondays)


@dataclass(frozen=True, slots=True)
class SkillCell:
    """One skill of the grid: its drill, the level, and how sure it is, 0 to 1."""

    skill: str
    drill: str
    level: int
    answers: int
    sureness: float
    last_on: date | None


def skill_grid(progress: Progress) -> tuple[SkillCell, ...]:
    """All skills answered so far, by drill and name."""
    cells = (
        SkillCell(
            skill.skill,
            skill.skill.partition(":")[0],
            skill.level,
            skill.answers,
            skill.sureness or 0.0,
            skill.last_on,
        )
        for skill in progress.skills.values()
        if skill.answers
    )
    return tuple(sorted(cells, key=lambda cell: (cell.drill, cell.skill)))


@dataclass(frozen=True, slots=True)
class PacePoint:
    """How much of a piece was settled by the end of a day, as a share of all its stages, 0 to 1."""

    day: date
    share: float


def pace_points(piece: PieceState) -> tuple[PacePoint, ...]:
    """How a piece went: a point for each day on which something was settled, from the day it was chosen."""
    total = len(SECTION_STAGES) * len(piece.sections)
    points = [PacePoint(piece.chosen_on, 0.0)]
    names = {section.name for section in piece.sections}
    seen: set[tuple[str, Stage]] = set()
    for milestone in piece.milestones:
        if milestone.section in names:
            seen.add((milestone.section, milestone.stage))
            if points[-1].day == milestone.day:
                points.pop()
            points.append(PacePoint(milestone.day, len(seen) / total))
    return tuple(points)


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where the work on a piece stands, and since when.

    Parameters
    ----------
    since
        Day on which this stage became the next one.
    practice_days
        Days with practice since then.
    minutes
        Minutes spent on the stage so far.
    usual_minutes
        What such a stage takes this player.
    """

    section: str
    stage: Stage
    since: date
    practice_days: int
    minutes: float
    usual_minutes: float
    checks: int
    hints: int

    @property
    def stuck(self) -> bool:
        """Whether it takes much longer than usual."""
        return self.practice_days >= STUCK_DAYS and self.minutes >= STUCK_FACTOR * self.usual_minutes


def whereabouts(progress: Progress) -> Whereabouts | None:
    """Where the piece in hand stands; ``None`` without one, before its sections, and when all are done."""
    piece = progress.piece
    section = piece.next_section if piece is not None else None
    stage = section.next_stage if section is not None else None
    if piece is None or section is None or stage is None:
        return None
    since = max((m.day for m in piece.milestones), default=piece.first_worked_on or piece.chosen_on)
    days = sum(day.practised and day.day > since for day in progress.days_since(since))
    return Whereabouts(
        section.name,
        stage,
        since,
        days,
        section.seconds.get(stage, 0.0) / 60,
        _usual_minutes(progress, piece, section, stage),
        section.checks,
        section.hints,
    )


def _usual_minutes(progress: Progress, piece: PieceState, section: SectionState, stage: Stage) -> float:
    number = sections_before(progress, piece) + piece.sections.index(section) + 1
    return Pace.of(progress).minutes_a_bar(stage, number) * section.bars(piece.meter)


def search(
    events: Iterable[LoggedEvent], text: str, titles: Mapping[str, str]
) -> Iterator[tuple[LoggedEvent, str]]:
    """Events with their sentences, of those whose sentence or day holds all words of a text."""
    words = text.casefold().split()
    for logged in events:
        said = sentence(logged.event, titles)
        line = f"{logged.at.date().isoformat()} {said}".casefold()
        if all(word in line for word in words):
            yield logged, said
