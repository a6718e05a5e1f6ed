# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Every screen that stands, in each of its five states: what the walks and the pictures show."""

from datetime import date
from typing import Any

from coach.practice.piece_state import Cell
from coach.ui.context import ScreenContext
from coach.ui.presenters.map_view import MapColumn, MapView
from coach.ui.presenters.today_view import AimOffer, StepView, TodayView
from tests.ui.beat_states import BEAT_CASES
from tests.ui.case import Case, five
from tests.ui.daily_states import DAILY_CASES
from tests.ui.file_states import FILE_CASES
from tests.ui.keep_states import KEEP_CASES
from tests.ui.piece_states import PIECE_CASES

A_MAP = MapView(
    (
        MapColumn("A", Cell.SETTLED, Cell.SETTLED, Cell.SETTLED),
        MapColumn("B", Cell.SETTLED, Cell.BEGUN, Cell.EMPTY, following=True),
        MapColumn("C", Cell.BEGUN),
        MapColumn("D"),
    )
)
A_DAY = TodayView(
    "“Morning by the Canal”: 1 of 4 sections is good enough; section B is next.",
    (
        StepView("tune", "Tune the guitar", 2, "tuner", done=True),
        StepView("ear", "Train the ear: 6 short drills from this piece", 4, "ear"),
        StepView(
            "piece", "Find the bass of section B", 12, "workbench", (("section", "B"), ("line", "bass"))
        ),
    ),
    A_MAP,
    "You would like to finish by 12 December. At this pace you will be done between 8 and 19 December.",
    offers=(AimOffer(date(2026, 12, 12), "by 12 December"), AimOffer(date(2026, 12, 19), "by 19 December")),
)


def _today(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.today.screen import TodayPage

    return TodayPage(context, presenter)


CASES: dict[str, Case] = (
    {
        "today": Case(
            _today,
            five(
                A_DAY,
                empty="Turn a recording you like into your first arrangement for one guitar.",
                work="Reading your log",
                missing=(
                    "There is nothing to do today.",
                    "All of it is done. Come back tomorrow, or play.",
                ),
                failed=(
                    "Today's page could not be made.",
                    "The log could not be read: start again. Nothing is lost.",
                ),
            ),
        ),
    }
    | DAILY_CASES
    | FILE_CASES
    | KEEP_CASES
    | PIECE_CASES
    | BEAT_CASES
)
STATES = ("empty", "working", "ready", "missing", "failed")
