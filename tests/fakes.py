"""Fakes of the ports: the world without devices and disks."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

from coach.errors import StoreError
from coach.practice.events import Event, LoggedEvent
from coach.practice.fold import fold_all
from coach.practice.progress import Progress
from coach.practice.rules import require_allowed
from coach.sessions.ports import Jobs
from tests.sound_fakes import FakeCatalog, FakeClock, FakeInput, FakeOutput, MemoryCache

__all__ = ["FakeCatalog", "FakeClock", "FakeInput", "FakeOutput", "MemoryCache", "MemoryLog"]


@dataclass
class MemoryLog:
    """The `PracticeLog` port in memory; the same contract suite runs over it and the SQLite log."""

    logged: list[LoggedEvent] = field(default_factory=list)
    read_only: bool = False

    def append(self, event: Event, at: datetime) -> LoggedEvent:
        if at.tzinfo is None:
            raise ValueError("a moment in the log needs its time zone")
        if self.read_only:
            raise StoreError("The log was opened for reading only.")
        require_allowed(self.progress(), event)
        self.logged.append(LoggedEvent(len(self.logged) + 1, at, event))
        return self.logged[-1]

    def events(self, *, since: datetime | None = None, after: int = 0) -> Iterator[LoggedEvent]:
        for each in list(self.logged[after:]):
            if since is None or each.at >= since:
                yield each

    def progress(self, jobs: Jobs | None = None) -> Progress:
        return fold_all(self.logged)

    def close(self) -> None:
        self.read_only = True
