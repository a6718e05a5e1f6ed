"""A report out of progress and log."""

from collections import deque
from collections.abc import Iterable
from datetime import date

from coach.practice.days import Day
from coach.practice.events import (
    Calibrated,
    DrillAnswered,
    DrillPassed,
    HintTaken,
    LineWritten,
    LoggedEvent,
    NoteChecked,
    StringTuned,
    TimeSpent,
)
from coach.practice.logbook import pace_points, skill_grid, whereabouts
from coach.practice.piece_state import PieceState, SectionState
from coach.practice.plan import standing
from coach.practice.progress import Progress
from coach.practice.proposals import Outlook
from coach.practice.sentences import sentence, titles_of
from coach.reports.values import (
    DayReport,
    Entry,
    ForecastReport,
    PacePointReport,
    PieceReport,
    Report,
    SectionReport,
    SkillReport,
    WhereReport,
)

MOST_ENTRIES = 300
_COUNTED_ONLY = (
    DrillAnswered | DrillPassed | NoteChecked | HintTaken | LineWritten | StringTuned | TimeSpent | Calibrated
)
"""Too many to be told one by one."""


def build_report(
    progress: Progress,
    events: Iterable[LoggedEvent],
    outlook: Outlook,
    today: date,
    *,
    since: date | None = None,
    name: str = "",
) -> Report:
    """A report for a day.

    Parameters
    ----------
    events
        Those since the day asked for (all, without one).
    outlook
        Forecast and aim of today.
    name
        Who it is about.
    """
    titles = titles_of(progress.pieces)
    latest: deque[Entry] = deque(maxlen=MOST_ENTRIES)
    count = 0
    for logged in events:
        if not isinstance(logged.event, _COUNTED_ONLY):
            latest.append(Entry(logged.at, sentence(logged.event, titles)))
            count += 1
    return Report(
        made_on=today,
        since=since,
        name=name,
        standing=standing(progress),
        where=_where(progress),
        forecast=_forecast(outlook),
        pieces=tuple(_piece(progress, piece) for piece in progress.pieces.values()),
        days=tuple(_day(day) for day in progress.days_since(since or date.min) if day.practised),
        skills=tuple(SkillReport(s.skill, s.level, s.answers, s.sureness) for s in skill_grid(progress)),
        entries=tuple(latest),
        more_entries=count - len(latest),
    )


def _where(progress: Progress) -> WhereReport | None:
    at = whereabouts(progress)
    if at is None:
        return None
    return WhereReport(
        section=at.section,
        stage=at.stage,
        since=at.since,
        practice_days=at.practice_days,
        minutes=at.minutes,
        usual_minutes=at.usual_minutes,
        checks=at.checks,
        hints=at.hints,
        stuck=at.stuck,
    )


def _forecast(outlook: Outlook) -> ForecastReport | None:
    told = outlook.forecast
    if told is None:
        return None
    return ForecastReport(told.p10, told.p50, told.p90, outlook.on_track, outlook.advice)


def _piece(progress: Progress, piece: PieceState) -> PieceReport:
    state = "finished" if piece.finished_on is not None else "set aside"
    return PieceReport(
        piece=piece.piece,
        title=piece.title,
        state="in hand" if progress.in_hand == piece.piece else state,
        chosen_on=piece.chosen_on,
        finished_on=piece.finished_on,
        aim=piece.aim,
        minutes=piece.seconds / 60,
        takes=len(piece.takes),
        sections=tuple(_section(piece, section) for section in piece.sections),
        pace=tuple(PacePointReport(point.day, point.share) for point in pace_points(piece)),
        next_time=piece.ideas,
        made_smaller=piece.accepted,
        changes=tuple(change for section in piece.sections for change in section.changes),
    )


def _section(piece: PieceState, section: SectionState) -> SectionReport:
    return SectionReport(
        name=section.name,
        bars=section.bars(piece.meter),
        melody=section.melody.cell,
        bass=section.bass.cell,
        together=section.together,
        played=section.played,
        minutes=sum(section.seconds.values()) / 60,
        checks=section.checks,
        hints=section.hints,
        open_questions=section.melody.open_questions + section.bass.open_questions,
        reopenings=section.melody.reopenings + section.bass.reopenings,
        right_share=section.right_share,
        hardest_bar=section.hardest_bar,
    )


def _day(day: Day) -> DayReport:
    return DayReport(
        day=day.day,
        tune=day.tune_s / 60,
        ear=day.ear_s / 60,
        piece=day.piece_s / 60,
        drills=day.drills,
        drills_right=day.drills_right,
        checks=day.checks,
        hints=day.hints,
    )
