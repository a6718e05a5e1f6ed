"""``coach backup``: write everything into one file."""

import argparse
from contextlib import closing
from pathlib import Path

from coach.cli.output import Output, TextProgress, each_input
from coach.errors import StoreError
from coach.sessions.journal import Journal
from coach.sessions.keeping import BackedUp, back_up, note_backup
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("file", metavar="FILE", help="the back-up to be made; it must not be there yet")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Write the back-up."""

    def work(path: Path) -> None:
        made = back_up(services, path, TextProgress(out))
        noted = _note(services, made)
        out.value({"input": str(path), "sha256": made.sha256, "bytes": made.size_bytes, "noted": noted})
        out.text(f"{path}: {made.size_bytes / 1e6:.1f} MB")

    return each_input([args.file], out, work)


def _note(services: Services, made: BackedUp) -> bool:
    """Write into the log that a back-up was made, unless the app holds it or it cannot be written."""
    try:
        with closing(Journal(services.log(), services.clock)) as journal:
            note_backup(journal, made)
    except StoreError:
        return False
    return True
