"""When it is time for a back-up."""

from datetime import date

from coach.practice.progress import Progress

STALE_DAYS = 30
"""An older back-up is worth a word, once there is something to lose (ours)."""


def backup_age_days(progress: Progress, today: date) -> int | None:
    """Days since the last back-up, ``None`` if there was none."""
    return None if progress.backed_up_on is None else max(0, (today - progress.backed_up_on).days)


def backup_is_due(progress: Progress, today: date) -> bool:
    """Whether something was practised that is in no back-up, and the last one, or the start, is long ago."""
    since = progress.backed_up_on or progress.started_on
    last = progress.last_practised
    if since is None or last is None or (progress.backed_up_on is not None and last <= since):
        return False
    return (today - since).days > STALE_DAYS
