"""When a back-up is due: something to lose, and the last one, or the start, over thirty days ago."""

from dataclasses import replace
from datetime import date, timedelta

from coach.practice.backup_due import STALE_DAYS, backup_age_days, backup_is_due
from coach.practice.events import BackupMade, StringTuned, TimeSpent
from tests.practice_steps import START, progress_of

FIRST = START.date()


def after(days: int) -> date:
    return FIRST + timedelta(days=days)


def test_without_a_back_up_the_start_counts() -> None:
    progress = progress_of(TimeSpent("ear", 300.0))
    assert backup_age_days(progress, after(3)) is None
    assert not backup_is_due(progress, after(STALE_DAYS))
    assert backup_is_due(progress, after(STALE_DAYS + 1))


def test_nothing_to_lose_is_nothing_to_remind_of() -> None:
    assert not backup_is_due(progress_of(), after(400))
    assert not backup_is_due(progress_of(StringTuned(6, 0.0)), after(400))


def test_only_what_came_after_the_last_back_up_counts() -> None:
    progress = progress_of(TimeSpent("ear", 300.0), BackupMade("00"))
    assert backup_age_days(progress, after(45)) == 45
    assert not backup_is_due(progress, after(45))
    first = progress.day(FIRST)
    more = replace(progress, earlier=(first,), current=replace(first, day=after(40)))
    assert backup_is_due(more, after(45))
    assert not backup_is_due(more, after(STALE_DAYS))


def test_a_clock_put_back_makes_no_back_up_of_tomorrow() -> None:
    assert backup_age_days(progress_of(BackupMade("00")), after(-3)) == 0
