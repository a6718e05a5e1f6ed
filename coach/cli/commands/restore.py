"""``coach restore``: put a back-up in the place of what is there."""

import argparse
from pathlib import Path

from coach.cli.output import Output, TextProgress, each_input
from coach.sessions.ports.exchange import KEPT_BEFORE
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("file", metavar="FILE", help="a back-up made by “coach backup”")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Check the back-up, back up what is there, then swap."""

    def work(path: Path) -> None:
        before = services.exchange().restore(path, services.clock.now(), TextProgress(out))
        out.value({"input": str(path), "before": None if before is None else str(before)})
        out.text(f"Restored from {path}.")
        if before is not None:
            out.text(
                f"What was there before is kept in {before}; of such states the last {KEPT_BEFORE} stay."
            )

    return each_input([args.file], out, work)
