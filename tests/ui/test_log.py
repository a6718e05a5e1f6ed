# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The log: words for every event, sums, search; the page with real typing."""

from datetime import UTC, date, datetime
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given

from coach.music.naming import Naming
from coach.practice.days import SkillSummary
from coach.practice.events import DrillAnswered, Event, LoggedEvent, NoteChecked, StringTuned, TimeSpent
from coach.practice.settings import Settings
from coach.ui.presenters.event_words import event_words
from coach.ui.presenters.log import LogPresenter, LogView, log_view, skill_cells
from coach.ui.presenters.view import Empty, Ready
from tests.event_strategies import events
from tests.fakes import MemoryLog
from tests.ui.driver import RealWindow
from tests.ui.stage import Now, Went, a_context

MONDAY = date(2026, 1, 5)


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


def opened(log: MemoryLog) -> LogPresenter:
    presenter = LogPresenter(services_of(log), Now(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: LogPresenter) -> LogView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


@given(event=events())
def test_every_event_has_its_line(event: Event) -> None:
    assert event_words(event).strip()
    assert "\n" not in event_words(event, Naming.GERMAN)


def test_note_names_follow_the_players_choice() -> None:
    asked = NoteChecked("p", "B", "bass", 1.0, 2.0, 47, "other_octave", None, 0.9)
    assert event_words(asked) == "Asked for B in the bass of section B: right note, 12 frets off"
    assert "Asked for H in" in event_words(asked, Naming.GERMAN)


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
    assert presenter._go.to == [("today", {})]  # type: ignore[attr-defined]


def test_events_are_searched_by_all_words() -> None:
    presenter = opened(a_log())
    assert view_of(presenter).events[0].when == "6 Jan 18:00"
    presenter.search("6 jan DRILL")
    assert [line.what for line in view_of(presenter).events] == ["Drill “match note”, level 2: sure"]
    presenter.search("nowhere")
    assert (view_of(presenter).events, view_of(presenter).found) == ((), 0)
    presenter.search("")
    assert view_of(presenter).found == 4


@pytest.mark.window
def test_a_search_is_typed(window: RealWindow) -> None:
    from coach.ui.screens.log.screen import LogPage
    from coach.ui.widgets.field import Entry

    page = window.show(LogPage(a_context(), LogPresenter(services_of(a_log()), Now(), Went())), "log")
    assert "4 entries" in window.words()
    entry = next(widget for widget in window.walk() if isinstance(widget, Entry))
    page.scroll.scroll_to(entry, animate=False)
    window.frames(4)
    window.tap(entry)
    entry.insert_text("tuned")
    window.frames(4)
    assert entry.focus
    assert "1 entry" in window.words()
    assert "Tuned string 6: −2 cents" in window.words()
    assert "Drill" not in window.words()


def test_logged_events_keep_their_order() -> None:
    log = a_log()
    assert [each.seq for each in log.events()] == [1, 2, 3, 4]
    assert all(isinstance(each, LoggedEvent) for each in log.events())
