"""How long Today and Log take to open after ten years of practice (200,000 events), beside an empty log.

Usage: python -m tests.bench.log [EVENTS]

Times are of the processor, so that they mean the same on a busy machine.

The log is made of plausible days: drills, checks, times, and a piece finished every ten weeks or so.
"""

import sys
import tempfile
import time
from collections import deque
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from random import Random

from coach.practice.codec import encode
from coach.practice.events import DrillAnswered, Event, HintTaken, NoteChecked, StringTuned, TimeSpent
from coach.practice.fold import fold_all
from coach.practice.plan import plan_day
from coach.practice.proposals import outlook
from coach.practice.settings import Settings
from coach.practice.stages import Stage
from coach.store.database import DATABASE, open_for_writing
from coach.store.log import SqliteLog
from tests.practice_steps import finished

START = datetime(2026, 1, 5, 18, tzinfo=UTC)


def practice(rng: Random) -> Iterator[tuple[Event, datetime]]:
    """Days of events, without end."""
    day, number = START, 0
    waiting: deque[Event] = deque()
    while True:
        yield StringTuned(rng.randint(1, 6), rng.gauss(0, 3)), day
        for _ in range(rng.randint(15, 30)):
            skill = f"echo:{rng.randint(1, 40)}"
            right = rng.random() < 0.8
            word = rng.choice(["shaky", "sure", "instant"]) if right else "missed"
            yield DrillAnswered("echo", skill, 2, "voice", 1, right, float(right), 4.0, 1.5, word, (60,)), day
        yield TimeSpent("ear", 240.0), day
        for _ in range(rng.randint(5, 25)):
            piece = f"piece{number}"
            yield NoteChecked(piece, "A", "melody", 1.0, 2.0, 60, "heard", None, 0.9), day
        yield HintTaken(f"piece{number}", "A", "melody", 1.0, 2.0, 61, "direction"), day
        yield TimeSpent("piece", 700.0, f"piece{number}", "A", Stage.MELODY), day
        if waiting:
            yield waiting.popleft(), day
        if not waiting:
            number += 1
            waiting = deque(finished(f"piece{number}", tuple("ABCD")))
        day += timedelta(days=1 if rng.random() < 0.8 else 2)


def fill(folder: Path, count: int) -> datetime:
    """Write the events by one transaction, as the log itself would one by one."""
    folder.mkdir(parents=True, exist_ok=True)
    opened = open_for_writing(folder)
    last = START
    rows = []
    for event, at in islice(practice(Random(1)), count):
        rows.append((at.isoformat(), *encode(event)))
        last = at
    opened.connection.execute("BEGIN")
    opened.connection.executemany("INSERT INTO event (at, kind, version, payload) VALUES (?, ?, ?, ?)", rows)
    opened.connection.execute("COMMIT")
    opened.close()
    return last


def screens(folder: Path, now: datetime) -> float:
    """Processor seconds from opening the log to everything that Today and Log show."""
    began = time.process_time()
    with closing(SqliteLog.reading(folder)) as log:
        progress = log.progress()
        plan_day(progress, Settings(), now.date())
        outlook(progress, Settings(), now.date())
        list(progress.days)
        list(log.events(after=max(0, progress.seq - 200)))
    return time.process_time() - began


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200_000
    with tempfile.TemporaryDirectory() as name:
        full, empty = Path(name) / "full", Path(name) / "empty"
        now = fill(full, count)
        size = (full / DATABASE).stat().st_size / 1e6
        print(f"{count} events, {(now - START).days / 365:.1f} years, {size:.0f} MB")
        began, used = time.perf_counter(), time.process_time()
        with closing(SqliteLog.writing(full)) as log:
            progress = log.progress()
        used, began = time.process_time() - used, time.perf_counter() - began
        print(f"full fold, no snapshot: {used:.2f} s of the processor ({began:.2f} s by the clock)")
        SqliteLog.writing(empty).close()
        times = {place: min(screens(place, now) for _ in range(5)) for place in (empty, full)}
        print(f"Today and Log, empty {times[empty]:.3f} s, full {times[full]:.3f} s")
        print(f"more with the full log: {times[full] - times[empty]:.3f} s")
        with closing(SqliteLog.reading(full)) as log:
            assert log.progress() == progress == fold_all(log.events())
        print("snapshot and tail give the same progress as the full fold")


if __name__ == "__main__":
    main()
