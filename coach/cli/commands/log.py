"""``coach log``: everything that was practised, one event a line."""

import argparse
from contextlib import closing

from coach.cli.commands.today import day
from coach.cli.output import Output, TextProgress
from coach.practice.codec import plain_event
from coach.practice.sentences import sentence, titles_of
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("--since", type=day, metavar="DATE", help="from this day on (2026-03-09)")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Tell all events, the oldest first."""
    with closing(services.read_log()) as log:
        told = False
        titles = titles_of(log.progress(TextProgress(out)).pieces)
        for logged in log.events():
            if args.since is not None and logged.at.date() < args.since:
                continue
            told = True
            out.value(
                {
                    "seq": logged.seq,
                    "at": logged.at.isoformat(),
                    "kind": logged.event.kind,
                    "version": logged.event.version,
                    "event": plain_event(logged.event),
                }
            )
            out.text(f"{logged.at:%Y-%m-%d %H:%M}  {sentence(logged.event, titles)}")
    if not told:
        out.text("Nothing is in the log yet." if args.since is None else f"Nothing since {args.since}.")
    return 0
