"""``coach remind``: practice reminders as a calendar file."""

import argparse
from datetime import time
from pathlib import Path

from coach.cli.commands.today import day
from coach.cli.output import Output, UsageError
from coach.sessions.reminding import write_reminders
from coach.sessions.services import Services

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def clock_time(text: str) -> time:
    """Read a time of day for argparse."""
    try:
        found = time.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"“{text}” is not a time: write it like 18:30") from error
    if found.tzinfo is not None:
        raise argparse.ArgumentTypeError(f"“{text}” has a time zone: write it like 18:30")
    return found


def weekdays(text: str) -> tuple[int, ...]:
    """Read days of the week for argparse: ``mon,wed,fri``."""
    words = [word.strip().lower()[:3] for word in text.split(",")]
    if not all(word in WEEKDAYS for word in words):
        raise argparse.ArgumentTypeError(f"“{text}” names no days: write them like mon,wed,fri")
    return tuple(sorted({WEEKDAYS.index(word) for word in words}))


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("--out", required=True, metavar="FILE", help="a .ics file for any calendar")
    parser.add_argument(
        "--at", type=clock_time, metavar="TIME", help="such as 18:30; else that of the settings"
    )
    parser.add_argument(
        "--days",
        type=weekdays,
        help="such as mon,wed,fri; else the practice days of the settings, or every day where there are none",
    )
    parser.add_argument("--until", type=day, metavar="DATE", help="the last day; the aim, if there is one")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Write the calendar file."""
    path = Path(args.out)
    if path.suffix.lower() != ".ics":
        raise UsageError(f"--out {args.out}: the file must end in .ics")
    if args.until is not None and args.until < services.clock.today():
        raise UsageError(f"--until {args.until}: that day is over, choose a later one")
    made = write_reminders(services, path, weekdays=args.days, at=args.at, until=args.until)
    days = [WEEKDAYS[day] for day in made.weekdays]
    out.value(
        {
            "out": str(path),
            "at": f"{made.at:%H:%M}",
            "days": days,
            "until": None if made.until is None else made.until.isoformat(),
        }
    )
    out.text(f"{path}: {', '.join(days) or 'every day'} at {made.at:%H:%M}; open it with your calendar.")
    return 0
