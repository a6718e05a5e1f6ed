"""Learners side by side: who is stuck, where, since when."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from coach.practice.stages import Stage
from coach.reports.values import Report


@dataclass(frozen=True, slots=True)
class LearnerRow:
    """One learner, as the last report tells.

    Parameters
    ----------
    name
        As the report has it, else the file's name.
    piece, title
        The piece in hand; ``piece`` is the learner's own identifier, which a reply needs.
    section, stage, since
        Where the work stands, and the day since when.
    settled_share
        Share of the piece's stages that are good enough, 0 to 1.
    last_day
        The last day with practice in the report.
    """

    file: str
    name: str
    made_on: date
    piece: str | None
    title: str | None
    section: str | None
    stage: Stage | None
    since: date | None
    practice_days: int
    stuck: bool
    settled_share: float
    last_day: date | None
    p50: date | None
    aim: date | None


def side_by_side(reports: Iterable[tuple[str, Report]]) -> tuple[LearnerRow, ...]:
    """A row for each report (with its file name): the stuck first, the longest waiting on top, then names."""
    rows = (_row(file, report) for file, report in reports)
    return tuple(sorted(rows, key=lambda row: (not row.stuck, row.since or date.max, row.name.casefold())))


def _row(file: str, report: Report) -> LearnerRow:
    piece = next((each for each in report.pieces if each.state == "in hand"), None)
    where = report.where
    return LearnerRow(
        file=file,
        name=report.name or file.removesuffix(".json"),
        made_on=report.made_on,
        piece=None if piece is None else piece.piece,
        title=None if piece is None else piece.title,
        section=None if where is None else where.section,
        stage=None if where is None else where.stage,
        since=None if where is None else where.since,
        practice_days=0 if where is None else where.practice_days,
        stuck=where is not None and where.stuck,
        settled_share=piece.pace[-1].share if piece is not None and piece.pace else 0.0,
        last_day=report.days[-1].day if report.days else None,
        p50=None if report.forecast is None else report.forecast.p50,
        aim=None if piece is None else piece.aim,
    )
