"""What is said of back-ups: how old the last one is, what is in one, where one is."""

import re
from datetime import date, datetime, tzinfo
from pathlib import Path

from coach.practice.backup_due import backup_age_days, backup_is_due
from coach.practice.progress import Progress
from coach.sessions.keeping import BackedUp
from coach.sessions.ports.exchange import KEPT_BEFORE, BackupContents
from coach.ui.presenters.days import day_words
from coach.ui.presenters.files import size_words

MOST_TITLES = 4
NOTHING_YET = "There is nothing here to back up yet."
_BEFORE = re.compile(r"before-restore-(\d{8}-\d{6})")


def age_sentence(progress: Progress, today: date) -> str:
    """How old the last back-up is."""
    age = backup_age_days(progress, today)
    if not progress.seq:
        return NOTHING_YET
    if age is None or progress.backed_up_on is None:
        return "Nothing is backed up yet."
    if age == 0:
        return "Your last back-up is of today."
    return f"Your last back-up is of {day_words(progress.backed_up_on, today)}, {_days(age)} ago."


def gentle_word(progress: Progress, today: date) -> str:
    """A word about a back-up that is due, empty else."""
    if not backup_is_due(progress, today):
        return ""
    age = backup_age_days(progress, today)
    what = "Nothing of this is backed up yet" if age is None else f"Your last back-up is {_days(age)} old"
    return f"{what}: “Keep it safe” makes one with one tap."


def made_words(made: BackedUp) -> str:
    """Where a back-up is, how large, and what to do with it."""
    return (
        f"Everything is in one file: {made.path} ({size_words(made.size_bytes)}). "
        "Copy it to a stick or another device: what lies only on this one is lost with it."
    )


IN_PLACE = "The back-up is in its place."


def restored_words(before: Path | None) -> str:
    """Where what was here before a back-up was put in place can be found; empty if nothing was."""
    if before is None:
        return ""
    kept = f"The last {KEPT_BEFORE} of such states are kept; older ones are cleared away."
    return f"What was here before is kept in {before}. {kept}"


def contents_words(path: Path, found: BackupContents, today: date, zone: tzinfo | None) -> tuple[str, str]:
    """The file, and what it holds."""
    made = "" if found.made_on is None else f", made on {day_words(found.made_on, today)}"
    holds = _holds(found.pieces, found.entries, found.last_at, today, zone)
    return f"“{path.name}”{made}, {size_words(found.size_bytes)}.", f"It holds {holds}."


def here_words(progress: Progress | None, today: date, zone: tzinfo | None) -> str:
    """What a back-up would take the place of; ``None`` where the log cannot be read."""
    kept = "All of it is backed up first, so that you can go back."
    if progress is None:
        return f"It takes the place of what is here, whose log cannot be read. {kept}"
    if not progress.seq:
        return "There is nothing here yet that it would take the place of."
    titles = tuple(piece.title for piece in progress.pieces.values())
    return f"Here now: {_holds(titles, progress.seq, progress.at, today, zone)}. {kept}"


def before_words(path: Path, today: date) -> str:
    """A back-up of what was there before another was put in place."""
    found = _BEFORE.match(path.name)
    if found is None:
        return path.name
    try:
        at = datetime.strptime(found[1] + "+0000", "%Y%m%d-%H%M%S%z")
    except ValueError:
        return path.name
    return f"What was here before {day_words(at.date(), today)}, {at:%H:%M}"


def _holds(
    pieces: tuple[str, ...], entries: int, last_at: datetime | None, today: date, zone: tzinfo | None
) -> str:
    names = ", ".join(f"“{title}”" for title in pieces[:MOST_TITLES])
    more = f" and {len(pieces) - MOST_TITLES} more" if len(pieces) > MOST_TITLES else ""
    which = f" ({names}{more})" if names else ""
    counted = "no piece" if not pieces else "1 piece" if len(pieces) == 1 else f"{len(pieces)} pieces"
    log = "an empty log" if not entries else "1 entry" if entries == 1 else f"{entries} entries"
    last = ""
    if last_at is not None and entries:
        at = last_at.astimezone(zone)
        last = f", the last of {day_words(at.date(), today)}, {at:%H:%M}"
    return f"{counted}{which} and {log}{last}"


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
