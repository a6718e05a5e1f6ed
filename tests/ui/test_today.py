# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Today: presenter without a window, page with real taps."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest

from coach.errors import StoreError
from coach.practice.events import (
    AimSet,
    GridSet,
    PieceChosen,
    SectionRecord,
    SectionsSet,
    SmallerAccepted,
    TimeSpent,
)
from coach.practice.progress import Progress
from coach.practice.proposals import outlook
from coach.practice.settings import Settings
from coach.ui.presenters.days import day_words
from coach.ui.presenters.today import TodayDecisions, TodayPresenter
from coach.ui.presenters.today_view import SmallerOffer, StepView, TodayView, today_view
from coach.ui.presenters.view import Empty, Failed, Ready
from tests.fakes import MemoryLog
from tests.practice_steps import START, begun, progress_of, section_done
from tests.ui.driver import RealWindow
from tests.ui.five_states import A_DAY, CASES
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context, gone

TODAY = date(2026, 1, 1)


def test_begin_opens_the_first_step_that_is_not_done() -> None:
    went = Went()
    presenter = TodayPresenter(lambda: A_DAY, Now(), went)
    presenter.act()
    assert went.to == [("ear", {})]


def test_a_step_begun_out_of_turn_says_what_it_is_about() -> None:
    went = Went()
    TodayPresenter(lambda: A_DAY, Now(), went).begin(A_DAY.steps[2])
    assert went.to == [("workbench", {"section": "B", "line": "bass"})]


def test_the_first_day_leads_to_three_notes() -> None:
    went = Went()
    presenter = TodayPresenter(lambda: today_view(Progress(), Settings(), TODAY), Now(), went)
    assert isinstance(presenter.view, Empty)
    assert presenter.view.action == "Let's find three notes"
    presenter.act()
    assert went.to == [("first_run", {})]


def test_a_log_that_cannot_be_read_is_told_and_tried_again() -> None:
    pages = iter([StoreError("The log could not be read: start again."), A_DAY])

    def source() -> TodayView:
        page = next(pages)
        if isinstance(page, StoreError):
            raise page
        return page

    presenter = TodayPresenter(source, Now(), Went())
    assert presenter.view == Failed(
        "Today's page could not be made.", "The log could not be read: start again."
    )
    presenter.act()
    assert presenter.view == Ready(A_DAY)


@pytest.mark.window
def test_steps_and_map_are_tapped(window: RealWindow) -> None:
    from coach.ui.screens.today.screen import StepRow, TodayPage
    from coach.ui.widgets.line_map import MapColumnView

    context = a_context()
    window.show(TodayPage(context, TodayPresenter(lambda: A_DAY, Now(), context.go)))
    window.tap_words("Begin")
    rows = [widget for widget in window.walk() if isinstance(widget, StepRow)]
    window.tap(rows[2])
    window.tap([widget for widget in window.walk() if isinstance(widget, MapColumnView)][2])
    assert gone(context) == [
        ("ear", {}), ("workbench", {"section": "B", "line": "bass"}), ("piece", {"section": "C"}),
    ]  # fmt: skip


@pytest.mark.window
def test_the_page_says_where_the_piece_stands(window: RealWindow) -> None:
    window.show(CASES["today"].make(a_context(), "ready"))
    for words in (A_DAY.standing, "12 min", str(A_DAY.aim)):
        assert words in window.words()


@pytest.mark.window
def test_a_back_up_that_is_due_is_offered_at_the_foot(window: RealWindow) -> None:
    from coach.ui.screens.today.screen import TodayPage

    context = a_context()
    day = replace(A_DAY, safe="Your last back-up is 45 days old: “Keep it safe” makes one with one tap.")
    page = window.show(TodayPage(context, TodayPresenter(lambda: day, Now(), context.go)))
    button = window.button("Keep it safe")
    page.scroll.scroll_to(button, animate=False)
    window.frames(4)
    window.tap(button)
    assert gone(context) == [("keep", {})]
    due = progress_of(TimeSpent("ear", 300.0))
    assert today_view(due, Settings(), START.date() + timedelta(days=40)).safe
    assert not today_view(due, Settings(), START.date() + timedelta(days=10)).safe


class Decided:
    def __init__(self) -> None:
        self.days: list[date] = []
        self.titles: list[str] = []

    def aim(self, day: date) -> None:
        self.days.append(day)

    def smaller(self, title: str) -> None:
        self.titles.append(title)


@pytest.mark.window
def test_an_aim_and_a_smaller_piece_are_chosen_by_tapping(window: RealWindow) -> None:
    from coach.ui.screens.today.screen import TodayPage

    decided, page = (
        Decided(),
        replace(
            A_DAY, smaller=(SmallerOffer("Leave out section D", "Leave out section D: done about 3 March"),)
        ),
    )
    window.resize(800, 1280)
    window.show(TodayPage(a_context(), TodayPresenter(lambda: page, Now(), Went(), decided)))
    window.tap_words("by 12 December")
    window.tap_words("Leave out section D: done about 3 March")
    assert decided.days == [date(2026, 12, 12)]
    assert decided.titles == ["Leave out section D"]


def test_the_log_gives_the_plan_its_screens_and_the_map() -> None:
    log = MemoryLog()
    log.append(PieceChosen("p", "Canal", None, "canal"), at(1))
    assert [step.screen for step in view_of(log).steps][:3] == ["tuner", "first_run", "ear"]
    anchors = (Fraction(0), Fraction(16))
    log.append(GridSet("p", "4/4", Fraction(0), anchors, (0.0, 12.0)), at(1))
    sections = (
        SectionRecord("A", Fraction(0), Fraction(8)), SectionRecord("B", Fraction(8), Fraction(16)),
    )  # fmt: skip
    log.append(SectionsSet("p", sections), at(1))
    view = view_of(log, day=2)
    assert [column.name for column in view.map.columns] == ["A", "B"]
    piece_steps = [step for step in view.steps if step.kind == "piece"]
    assert (piece_steps[0].screen, dict(piece_steps[0].about)) == (
        "workbench", {"section": "A", "line": "melody"},
    )  # fmt: skip
    assert (view.aim, view.offers) == (None, ())


def test_the_forecast_is_shown_once_it_is_the_players_own() -> None:
    log = MemoryLog()
    for event in begun():
        log.append(event, at(1))
    assert view_of(log, day=2).aim is None
    for event in section_done("A"):
        log.append(event, at(2))
    view = view_of(log, day=3)
    told = outlook(log.progress(), Settings(), date(2026, 1, 3)).forecast
    assert told is not None
    assert view.aim is not None
    for day in (told.p10, told.p50, told.p90):
        assert f"{day.day} {day:%B}" in view.aim
    assert len(view.offers) == 3


def test_a_smaller_piece_is_offered_with_its_day_and_accepted_by_one_tap(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    for event in (*begun(sections=("A", "B", "C")), *section_done("A"), AimSet("p", date(2020, 1, 1))):
        room.journal.write(event)
    today = room.services.clock.today()
    offers = today_view(room.journal.progress, Settings(), today).smaller
    assert 1 <= len(offers) <= 3
    assert all("done about" in offer.words for offer in offers)
    TodayDecisions(room).smaller(offers[-1].title)
    (accepted,) = room.events(SmallerAccepted)
    assert accepted.proposal == offers[-1].title


def test_a_day_more_than_eleven_months_away_names_its_year() -> None:
    today = date(2026, 11, 25)
    assert day_words(date(2027, 6, 21), today) == "21 June"
    assert day_words(date(2027, 11, 25), today) == "25 November 2027"


def test_a_rest_leads_nowhere_and_is_not_begun() -> None:
    went, rest = Went(), StepView("rest", "Rest", 5, "")
    page = TodayView("Rest now.", (rest,))
    presenter = TodayPresenter(lambda: page, Now(), went)
    assert page.following is None
    presenter.begin(rest)
    presenter.act()
    assert went.to == []


def at(day: int) -> datetime:
    return datetime(2026, 1, day, 18, tzinfo=UTC)


def view_of(log: MemoryLog, day: int = 1) -> TodayView:
    return today_view(log.progress(), Settings(), date(2026, 1, day))


def test_an_aim_is_written_for_the_piece_in_hand(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    room.journal.write(PieceChosen("p", "Canal", None, "canal"))
    TodayDecisions(room).aim(date(2026, 2, 1))
    assert room.events(AimSet) == [AimSet("p", date(2026, 2, 1))]


@pytest.mark.window
def test_left_open_over_midnight_the_page_becomes_that_of_the_new_day(window: RealWindow) -> None:
    from coach.ui.screens.today.screen import DONE_WORDS, TodayPage

    days = [TODAY]
    services = SimpleNamespace(clock=SimpleNamespace(today=lambda: days[0]))
    over = replace(A_DAY, steps=tuple(replace(step, done=True) for step in A_DAY.steps))
    pages = {TODAY: over, TODAY + timedelta(days=1): A_DAY}
    context = a_context(services=services)
    page = window.show(TodayPage(context, TodayPresenter(lambda: pages[days[0]], Now(), context.go)))
    assert DONE_WORDS in window.words()
    assert "Begin" not in window.buttons()
    page._look_up()
    assert DONE_WORDS in window.words()
    days[0] += timedelta(days=1)
    page._look_up()
    window.frames(4)
    assert DONE_WORDS not in window.words()
    assert "Begin" in window.buttons()
