import pytest

from coach.errors import StoreError
from coach.practice.events import TimeSpent
from coach.sessions.journal import Journal
from coach.sessions.stopwatch import MOST_S, Activity, Stopwatch
from tests.fake_sound import SteppedClock
from tests.fakes import MemoryLog


def spent(log: MemoryLog) -> list[TimeSpent]:
    return [each.event for each in log.logged if isinstance(each.event, TimeSpent)]


def test_time_is_logged_when_the_activity_changes() -> None:
    clock, log = SteppedClock(), MemoryLog()
    journal, watch = Journal(log, clock), Stopwatch(clock)
    watch.turn_to(Activity("ear"), journal)
    clock.sleep(200)
    watch.turn_to(None, journal)
    clock.sleep(500)
    watch.turn_to(Activity("tune"), journal)
    assert spent(log) == [TimeSpent("ear", 200.0)]


def test_a_glance_is_no_practice_and_a_forgotten_tablet_no_day_of_it() -> None:
    clock, log = SteppedClock(), MemoryLog()
    journal, watch = Journal(log, clock), Stopwatch(clock)
    watch.turn_to(Activity("ear"), journal)
    clock.sleep(1)
    watch.turn_to(Activity("tune"), journal)
    clock.sleep(40_000)
    watch.turn_to(None, journal)
    assert spent(log) == [TimeSpent("tune", MOST_S)]


def test_what_a_full_disk_did_not_take_is_written_with_the_next_change(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clock, log = SteppedClock(), MemoryLog()
    journal, watch = Journal(log, clock), Stopwatch(clock)
    watch.turn_to(Activity("tune"), journal)
    clock.sleep(100)
    with monkeypatch.context() as disk:
        disk.setattr(log, "append", full)
        with pytest.raises(StoreError):
            watch.turn_to(Activity("ear"), journal)
    assert spent(log) == []
    clock.sleep(200)
    watch.turn_to(None, journal)
    assert spent(log) == [TimeSpent("tune", 100.0), TimeSpent("ear", 200.0)]


def full(*_: object) -> None:
    raise StoreError("Free some space on the disk, then try again.")
