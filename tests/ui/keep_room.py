"""What the tests of back-ups share: a data folder of its own, with Documents beside it."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from coach.bootstrap import make_services
from coach.practice.progress import Progress
from coach.sessions.ports import Place
from coach.sessions.services import Services
from coach.store.shelf import DiskShelf
from tests.fakes import FakeCatalog, FakeClock

LARK = "1 piece (“Lark”)"
NOW = datetime(2026, 3, 20, 18, 0, tzinfo=UTC)


def services_in(folder: Path) -> Services:
    """The real ones, but for the clock, the devices, and where the player's own files are."""
    documents = folder.parent / "documents"
    documents.mkdir(exist_ok=True)
    shelf = DiskShelf((Place("Documents", documents),))
    return replace(make_services(folder), shelf=lambda: shelf, clock=FakeClock(NOW), devices=FakeCatalog)


def titles(progress: Progress) -> list[str]:
    return [piece.title for piece in progress.pieces.values()]
