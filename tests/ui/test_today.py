# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Today: presenter without a window, page with real taps."""

import pytest

from coach.errors import StoreError
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.ui.presenters.today import TodayPresenter, TodayView
from coach.ui.presenters.view import Empty, Failed, Ready
from coach.ui.wiring import today_view
from tests.ui.driver import RealWindow
from tests.ui.five_states import A_DAY, CASES
from tests.ui.stage import Now, Went, a_context


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
    presenter = TodayPresenter(lambda: today_view(Progress(), Settings()), Now(), went)
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
    assert context.go.to == [
        ("ear", {}), ("workbench", {"section": "B", "line": "bass"}), ("piece", {"section": "C"}),
    ]  # fmt: skip


@pytest.mark.window
def test_the_page_says_where_the_piece_stands(window: RealWindow) -> None:
    window.show(CASES["today"].make(a_context(), "ready"))
    for words in (A_DAY.standing, "Morning by the Canal", "12 min", A_DAY.aim):
        assert words in window.words()
