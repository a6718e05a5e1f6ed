# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The log: sums, search; the page with real typing."""

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from coach.practice.days import SkillSummary
from coach.practice.events import (
    DrillAnswered,
    Event,
    LineSettled,
    LineWritten,
    LoggedEvent,
    NoteRecord,
    PieceChosen,
    ReportShared,
    SectionRecord,
    SectionsSet,
    StringTuned,
    TakeKept,
    TimeSpent,
)
from coach.practice.proposals import Outlook
from coach.practice.sentences import sentence
from coach.practice.settings import Settings
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.log import LogPresenter, LogView, log_view, pace_view, skill_cells
from coach.ui.presenters.view import Empty, Ready
from tests.fakes import MemoryLog
from tests.practice_steps import START, begun, progress_of, section_done
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context, went_to


def at(day: int, hour: int = 18) -> datetime:
    return datetime(2026, 1, day, hour, tzinfo=UTC)


def a_log() -> MemoryLog:
    log = MemoryLog()
    log.append(StringTuned(6, -2.0), at(5))
    log.append(TimeSpent("tune", 120.0), at(5))
    log.append(TimeSpent("ear", 480.0), at(6))
    skill = "match-note:note:any:mid:voice"
    log.append(DrillAnswered("match-note", skill, 2, "voice", 1, True, 1.0, 3.0, 1.0, "sure", (57,)), at(6))
    return log


def services_of(log: MemoryLog) -> Any:
    return SimpleNamespace(
        read_log=lambda: SimpleNamespace(progress=log.progress, events=log.events, close=lambda: None),
        current_settings=Settings,
        clock=SimpleNamespace(now=lambda: at(7), today=lambda: date(2026, 1, 7)),
    )


def room_of(log: MemoryLog) -> Any:
    return SimpleNamespace(services=services_of(log))


def opened(log: MemoryLog) -> LogPresenter:
    presenter = LogPresenter(room_of(log), Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: LogPresenter) -> LogView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def test_days_and_weeks_are_summed() -> None:
    view = log_view(a_log().progress(), date(2026, 1, 7), 20)
    assert view.sentence == "10 minutes this week, on 2 days."
    assert view.goal_minutes == 140
    assert [round(mark.minutes) for mark in view.weeks[0][1]] == [2, 8, 0, 0, 0, 0, 0]
    assert [mark.today for mark in view.weeks[0][1]].index(True) == 2
    assert view.week_words == ("5 Jan",)
    assert view.week_minutes == (pytest.approx(10.0),)


def test_how_sure_a_skill_is() -> None:
    sure = SkillSummary("match-note:note:any:mid:voice", answers=3, right=3, recent=(1.0, 1.0, 0.9))
    missed = SkillSummary("bass-moves:1-5:any:any:guitar", answers=1, right=0, recent=(0.2,))
    cells = skill_cells([sure, missed, SkillSummary("echo:x:any:any:voice")])
    assert [(cell.name, cell.word) for cell in cells] == [
        ("Match note", "sure, 3 answers"), ("Bass moves", "often missed, 1 answer"),
    ]  # fmt: skip


def test_an_empty_log_says_how_it_fills() -> None:
    presenter = opened(MemoryLog())
    assert isinstance(presenter.view, Empty)
    presenter.act()
    assert went_to(presenter) == [("today", {})]


def test_events_are_searched_by_all_words() -> None:
    presenter = opened(a_log())
    assert view_of(presenter).events[0].when == "6 Jan 18:00"
    presenter.search("6 jan MATCH")
    assert [line.what for line in view_of(presenter).events] == [
        sentence(next(each.event for each in a_log().events() if isinstance(each.event, DrillAnswered)), {})
    ]
    presenter.search("nowhere")
    assert (view_of(presenter).events, view_of(presenter).found) == ((), 0)
    presenter.search("")
    assert view_of(presenter).found == 4


@pytest.mark.window
def test_a_search_is_typed(window: RealWindow) -> None:
    from coach.ui.screens.log.screen import LogPage
    from coach.ui.widgets.field import Entry

    page = window.show(
        LogPage(a_context(), LogPresenter(room_of(a_log()), Now(), InlineRunner(), Went())), "log"
    )
    assert "4 entries" in window.words()
    entry = next(widget for widget in window.walk() if isinstance(widget, Entry))
    page.scroll.scroll_to(entry, animate=False)
    window.frames(4)
    window.tap(entry)
    entry.insert_text("tuned")
    window.frames(4)
    assert entry.focus
    assert "1 entry" in window.words()
    assert sentence(StringTuned(6, -2.0), {}) in window.words()


@pytest.mark.parametrize(
    ("seconds", "said"), [(20.0, "Less than a minute"), (70.0, "1 minute"), (120.0, "2 minutes")]
)
def test_few_minutes_are_said_as_they_are(seconds: float, said: str) -> None:
    progress = progress_of(TimeSpent("ear", seconds))
    assert log_view(progress, START.date(), 20).sentence == f"{said} this week, on 1 day."


def test_a_report_is_written_for_the_teacher_and_noted(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path, log=a_log())
    presenter = LogPresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    presenter.act()
    (path,) = (tmp_path / "out" / "reports").glob("*.html")
    assert str(path) in view_of(presenter).said
    assert b"<html" in path.read_bytes()[:200]
    assert path.with_suffix(".json").exists()
    assert path.with_suffix(".pdf").read_bytes().startswith(b"%PDF-")
    assert len(room.events(ReportShared)) == 1


def test_a_back_up_that_is_due_is_told_of() -> None:
    log = MemoryLog()
    log.append(TimeSpent("ear", 480.0), at(5) - timedelta(days=40))
    assert view_of(opened(log)).safe == (
        "Nothing of this is backed up yet: “Keep it safe” makes one with one tap."
    )
    assert view_of(opened(a_log())).safe == ""


@pytest.mark.window
def test_back_ups_and_reminders_are_a_tap_away(window: RealWindow) -> None:
    from coach.ui.screens.log.screen import LogPage

    went = Went()
    page = LogPage(a_context(), LogPresenter(room_of(a_log()), Now(), InlineRunner(), went))
    window.show(page, "log")
    window.tap_words("Keep it safe")
    window.tap_words("Practice days and reminders")
    assert went.to == [("keep", {}), ("remind", {})]


def shares(tmp_path: Path, *events: Event) -> tuple[ScriptedRoom, LogPresenter]:
    """A log with a whole take in it, and its file in the library."""
    log = a_log()
    room = ScriptedRoom(tmp_path, log=log)
    piece = room.services.library().add("Canal", None).piece
    for event in (*begun(piece, ("A",)), *section_done("A", piece=piece), *events):
        log.append(event, at(6))
    log.append(TakeKept(piece, "take-1.flac", 20.0), at(7))
    room.services.library().write(piece, "take-1.flac", b"sound")
    presenter = LogPresenter(room, Now(), InlineRunner(), Went())
    presenter.opened()
    return room, presenter


def test_a_take_leaves_only_by_the_players_tick_and_only_once(tmp_path: Path) -> None:
    room, presenter = shares(tmp_path)
    room.services.settings().save(Settings(name="Amy B."))
    assert view_of(presenter).has_take
    presenter.act()
    assert not list((tmp_path / "out" / "reports").glob("*.flac"))
    (report,) = (tmp_path / "out" / "reports").glob("*.json")
    assert report.name.startswith("report-Amy-B-")
    presenter.tick("yes")
    presenter.act()
    (take,) = (tmp_path / "out" / "reports").glob("*.flac")
    assert take.read_bytes() == b"sound"
    assert str(take) in view_of(presenter).said
    take.unlink()
    presenter.act()
    assert not take.exists()
    assert [each.with_takes for each in room.events(ReportShared)] == [False, True, False]


@pytest.mark.window
def test_the_tick_is_tapped(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.log.screen import LogPage

    _, presenter = shares(tmp_path)
    page = window.show(LogPage(a_context(), presenter), "log")
    button = window.button("the report and my last take")
    page.scroll.scroll_to(button, animate=False)
    window.frames(4)
    window.tap(button)
    window.tap_words("Share with teacher")
    assert list((tmp_path / "out" / "reports").glob("*.flac"))


def test_the_pace_of_a_piece_rises_to_its_share() -> None:
    log = a_log()
    log.append(PieceChosen("p", "Canal", None, "canal"), at(6))
    assert log_view(log.progress(), date(2026, 1, 7), 20).pace is None
    sections = (SectionRecord("A", Fraction(0), Fraction(8)), SectionRecord("B", Fraction(8), Fraction(16)))
    log.append(SectionsSet("p", sections), at(6))
    log.append(LineWritten("p", "A", "melody", (NoteRecord(Fraction(0), Fraction(1), 60),)), at(8))
    log.append(LineSettled("p", "A", "melody"), at(8))
    piece = log.progress().piece
    pace = pace_view(piece, Outlook(aim=date(2026, 1, 20)), date(2026, 1, 9))
    assert pace is not None
    assert pace.points == ((0.0, 0.0), (2.0, 1 / 8), (3.0, 1 / 8))
    assert (pace.aim, pace.days, pace.words) == (14.0, 14.0, ("6 Jan", "20 Jan"))


def test_logged_events_keep_their_order() -> None:
    log = a_log()
    assert [each.seq for each in log.events()] == [1, 2, 3, 4]
    assert all(isinstance(each, LoggedEvent) for each in log.events())
