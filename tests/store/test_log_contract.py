"""What every `PracticeLog` keeps: the one in memory that tests use, and the one in SQLite."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coach.errors import ScopeError, StoreError
from coach.practice.events import Event, IdeaNoted, PieceChosen, StringTuned
from coach.practice.fold import fold_all
from coach.practice.progress import Progress
from coach.practice.rules import allowed
from coach.sessions.ports import PracticeLog
from coach.store.log import SqliteLog
from tests.event_strategies import events, moments
from tests.fakes import MemoryLog
from tests.practice_steps import START, finished

MakeLog = Callable[[], PracticeLog]


@pytest.fixture(params=["memory", "sqlite"])
def make_log(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[MakeLog]:
    made: list[PracticeLog] = []

    def make() -> PracticeLog:
        folder = tmp_path / str(len(made))
        made.append(MemoryLog() if request.param == "memory" else SqliteLog.writing(folder))
        return made[-1]

    yield make
    for log in made:
        log.close()


def test_an_empty_log_has_no_progress(make_log: MakeLog) -> None:
    log = make_log()
    assert list(log.events()) == []
    assert log.progress() == Progress()


def test_numbers_count_from_one_without_gaps(make_log: MakeLog) -> None:
    log = make_log()
    numbers = [log.append(StringTuned(string, 0.0), START).seq for string in range(1, 7)]
    assert numbers == [1, 2, 3, 4, 5, 6]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(events(), moments()), max_size=6))
def test_what_is_appended_comes_back(make_log: MakeLog, entries: list[tuple[Event, datetime]]) -> None:
    log = make_log()
    kept = []
    for event, at in entries:
        if allowed(log.progress(), event) is None:
            kept.append(log.append(event, at))
    assert list(log.events()) == kept
    assert [each.at.utcoffset() for each in log.events()] == [each.at.utcoffset() for each in kept]
    assert log.progress() == fold_all(kept)


def test_events_since_a_moment_and_after_a_number(make_log: MakeLog) -> None:
    log = make_log()
    east, west = timezone(timedelta(hours=14)), timezone(timedelta(hours=-12))
    hours = [START + timedelta(hours=hour) for hour in range(6)]
    for hour, zone in zip(hours, (UTC, east, west, UTC, east, west), strict=True):
        log.append(StringTuned(1, 0.0), hour.astimezone(zone))
    assert [each.seq for each in log.events(since=hours[2])] == [3, 4, 5, 6]
    assert [each.seq for each in log.events(after=4)] == [5, 6]
    assert [each.seq for each in log.events(since=hours[2], after=4)] == [5, 6]
    assert list(log.events(after=6)) == []


def test_reading_goes_on_while_events_are_appended(make_log: MakeLog) -> None:
    log = make_log()
    for _ in range(3):
        log.append(StringTuned(1, 0.0), START)
    read = log.events()
    next(read)
    log.append(StringTuned(2, 0.0), START)
    assert [each.seq for each in read][:2] == [2, 3]


def test_more_than_the_piece_allows_never_reaches_the_log(make_log: MakeLog) -> None:
    log = make_log()
    log.append(PieceChosen("one", "One", None), START)
    with pytest.raises(ScopeError, match="in hand"):
        log.append(PieceChosen("two", "Two", None), START)
    assert [each.seq for each in log.events()] == [1]
    assert log.append(IdeaNoted("one", "a third voice"), START).seq == 2


def test_a_moment_needs_its_time_zone(make_log: MakeLog) -> None:
    with pytest.raises(ValueError, match="time zone"):
        make_log().append(StringTuned(1, 0.0), datetime(2026, 3, 2))  # noqa: DTZ001 - that is the point


def test_a_whole_piece_goes_in_and_is_finished(make_log: MakeLog) -> None:
    log = make_log()
    for event in finished():
        log.append(event, START)
    assert [piece.title for piece in log.progress().finished] == ["P"]
    assert log.progress().in_hand is None


def test_a_closed_log_takes_nothing_more(make_log: MakeLog) -> None:
    log = make_log()
    log.close()
    log.close()
    with pytest.raises(StoreError, match="reading only"):
        log.append(StringTuned(1, 0.0), START)
