"""``coach backup``: write everything into one file."""

import argparse
from contextlib import closing
from pathlib import Path

from coach.cli.output import Output, TextProgress, each_input
from coach.errors import StoreError
from coach.practice.events import BackupMade
from coach.sessions.journal import Journal
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("file", metavar="FILE", help="the back-up to be made; it must not be there yet")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Write the back-up."""

    def work(path: Path) -> None:
        digest = services.exchange().write_backup(path, TextProgress(out))
        noted = _note(services, digest)
        out.value({"input": str(path), "sha256": digest, "bytes": path.stat().st_size, "noted": noted})
        out.text(f"{path}: {path.stat().st_size / 1e6:.1f} MB")

    return each_input([args.file], out, work)


def _note(services: Services, digest: str) -> bool:
    """Write into the log that a back-up was made, unless the app holds it or it cannot be written."""
    try:
        with closing(Journal(services.log(), services.clock)) as journal:
            journal.write(BackupMade(digest))
    except StoreError:
        return False
    return True
