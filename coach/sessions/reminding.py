"""Use case: practice reminders as a calendar file, on the player's days and at their time."""

from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path

from coach.practice.progress import Progress
from coach.sessions.services import Services

REMINDERS = "practice-reminders.ics"


@dataclass(frozen=True, slots=True)
class Reminders:
    """A calendar file: on which weekdays (0 is Monday; none is every day), when, and until which day."""

    path: Path
    weekdays: tuple[int, ...]
    at: time
    until: date | None


def write_reminders(
    services: Services,
    path: Path,
    *,
    weekdays: Sequence[int] | None = None,
    at: time | None = None,
    until: date | None = None,
) -> Reminders:
    """Write the calendar file; what is not named is as the settings have it, and it ends with the aim.

    Raises
    ------
    StoreError
        If the file could not be written, or the log not be read.
    """
    # The calendar library is needed here only.
    from coach.reports.calendar_file import reminders  # noqa: PLC0415

    settings, first = services.current_settings(), services.clock.today()
    days = tuple(sorted(set(settings.practice_days if weekdays is None else weekdays)))
    when = settings.reminder_time if at is None else at
    last = until or _aim(services, first)
    data = reminders(
        first=first,
        at=when,
        minutes=settings.minutes_a_day,
        made=services.clock.now(),
        weekdays=days,
        until=last,
    )
    services.files().write(path, data)
    return Reminders(path, days, when, last)


def aim_ahead(progress: Progress, first: date) -> date | None:
    """The aim of the piece in hand, if it lies after a day."""
    aim = progress.piece.aim if progress.piece is not None else None
    return aim if aim is not None and aim > first else None


def _aim(services: Services, first: date) -> date | None:
    with closing(services.read_log()) as log:
        return aim_ahead(log.progress(), first)
