# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Practice days and reminders: chosen by tap, kept at once, written as a calendar file."""

from dataclasses import replace
from datetime import date, time
from pathlib import Path
from types import SimpleNamespace

import icalendar
import pytest

from coach.bootstrap import make_services
from coach.practice.events import AimSet
from coach.practice.settings import Settings
from coach.sessions.ports import Place
from coach.sessions.services import Services
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.remind import RemindPresenter, RemindView, stepped, typed_time
from coach.ui.presenters.view import Ready
from coach.ui.presenters.weekdays import days_words, toggled
from tests.practised import PIECE, practised
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.stage import Now, Went, a_context, gone, went_to

AIM = date(2999, 12, 12)
SPACE, TAB = 32, 9


def services_in(folder: Path, *, documents: Path | None = None) -> Services:
    place = Place("Documents", documents or folder.parent)
    return replace(make_services(folder), shelf=lambda: SimpleNamespace(places=lambda: (place,)))


def opened(services: Services, back: str = "log") -> RemindPresenter:
    presenter = RemindPresenter(services, Now(), InlineRunner(), Went(), back)
    presenter.opened()
    return presenter


def view_of(presenter: RemindPresenter) -> RemindView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


@pytest.mark.parametrize(
    ("at", "by", "to"),
    [("18:00", 1, "18:15"), ("18:00", -1, "17:45"), ("18:07", 1, "18:15"), ("18:07", -1, "18:00"),
     ("23:50", 1, "00:00"), ("00:00", -1, "23:45"), ("00:10", -1, "00:00")],
)  # fmt: skip
def test_a_step_goes_to_the_next_quarter(at: str, by: int, to: str) -> None:
    assert stepped(time.fromisoformat(at), by) == time.fromisoformat(to)


@pytest.mark.parametrize(
    ("text", "at"),
    [("18:30", time(18, 30)), (" 7.05 ", time(7, 5)), ("1830", time(18, 30)), ("730", time(7, 30)),
     ("18h30", time(18, 30)), ("18 h", time(18)), ("7", time(7)), ("00:00", time(0)), ("24:00", None),
     ("18:60", None), ("", None), ("evening", None), ("18:3", None), ("-1", None)],
)  # fmt: skip
def test_a_time_is_typed_as_people_type_it(text: str, at: time | None) -> None:
    assert typed_time(text) == at


def test_days_in_words() -> None:
    assert [days_words(days) for days in ((), (0, 1, 2, 3, 4, 5, 6), (6,), (3, 0), (0, 2, 4))] == [
        "every day", "every day", "every Sunday", "every Monday and Thursday",
        "every Monday, Wednesday and Friday",
    ]  # fmt: skip
    assert toggled(toggled((), 4), 0) == (0, 4)
    assert toggled((0, 4), 0) == (4,)


def test_a_broken_file_of_settings_leaves_the_usual(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "settings.json").write_text('{"practice_days": [9], "reminder_at": "late"}')
    assert (view_of(opened(services_in(tmp_path / "data"))).days, Settings().reminder_at) == ((), "18:00")


def test_what_is_no_time_is_said_and_changes_nothing(tmp_path: Path) -> None:
    presenter = opened(services_in(tmp_path / "data"))
    presenter.type_time("late")
    assert view_of(presenter).said == "“late” is no time of day: write it like 18:30."
    assert (view_of(presenter).good, view_of(presenter).at) == (False, "18:00")


def test_where_nothing_can_be_written_it_says_so(tmp_path: Path) -> None:
    (tmp_path / "documents").write_text("a file in the way")
    presenter = opened(services_in(tmp_path / "data", documents=tmp_path / "documents"))
    presenter.act()
    assert not view_of(presenter).good
    assert "practice-reminders.ics” cannot be written" in view_of(presenter).said


def test_from_set_up_one_goes_back_to_its_card(tmp_path: Path) -> None:
    for back, to in (("log", ("log", {})), ("setup", ("setup", {"card": "day"}))):
        presenter = opened(services_in(tmp_path / "data"), back)
        presenter.back()
        assert went_to(presenter) == [to]


@pytest.mark.window
def test_days_and_time_are_tapped_and_the_calendar_file_is_written(
    window: RealWindow, tmp_path: Path
) -> None:
    from coach.ui.screens.remind.screen import build

    services = services_in(practised(tmp_path / "data", AimSet(PIECE, AIM)))
    page = window.show(build(a_context(services=services)), "log")
    assert "You mean to practise every day." in window.words()
    for words in ("Mon", "Sat", "Thu", "Sat", "15 min later", "15 min later", "15 min earlier"):
        window.tap_words(words)
    assert services.current_settings().practice_days == (0, 3)
    assert services.current_settings().reminder_at == "18:15"
    assert "18:15" in window.words()
    assert "every Monday and Thursday" in window.words()
    assert [window.button(day).chosen for day in ("Mon", "Tue", "Thu")] == [True, False, True]
    window.tap_words("Write the calendar file")
    path = tmp_path / "Two-Line Coach" / "practice-reminders.ics"
    (event,) = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert event["RRULE"]["BYDAY"] == ["MO", "TH"]
    assert event["RRULE"]["UNTIL"][0].date() == AIM
    assert (event.decoded("DTSTART").hour, len(event.walk("VALARM"))) == (18, 1)
    assert str(path) in window.words()
    assert "Open it with your calendar" in window.words()
    assert not faults(window)
    window.tap_words("Back")
    assert gone(page.context) == [("log", {})]


@pytest.mark.window
def test_by_keys_alone_and_the_ring_stays_where_it_is(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.remind.screen import build

    services = services_in(tmp_path / "data")
    window.show(build(a_context(services=services)), "log")
    while not window.button("Mon").focused:
        window.key(TAB)
    for _ in range(2):
        window.key(SPACE)
        window.key(TAB)
    window.key(SPACE)
    assert services.current_settings().practice_days == (0, 1, 2)
    window.key(SPACE)
    assert services.current_settings().practice_days == (0, 1)


@pytest.mark.window
def test_the_time_is_typed(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.remind.screen import build
    from coach.ui.widgets.field import Entry

    services = services_in(tmp_path / "data")
    page = window.show(build(a_context(services=services)), "log")
    entry = next(widget for widget in window.walk() if isinstance(widget, Entry))
    page.scroll.scroll_to(entry, animate=False)
    window.frames(4)
    window.tap(entry)
    entry.insert_text("7.45")
    entry.dispatch("on_text_validate")
    window.frames(4)
    assert services.current_settings().reminder_at == "07:45"
    assert "07:45" in window.words()
