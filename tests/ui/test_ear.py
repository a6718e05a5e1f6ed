# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The ear set: planned from the real drills; real taps."""

from dataclasses import replace
from pathlib import Path

import pytest

from coach.drills.kinds import Kind
from coach.ui.presenters.ear import GOOD_FOR, EarPresenter, EarView
from coach.ui.presenters.view import Ready
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context, went_to


def started(room: ScriptedRoom) -> EarPresenter:
    presenter = EarPresenter(room, Now(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: EarPresenter) -> EarView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def test_every_kind_of_drill_says_what_it_is_good_for() -> None:
    assert set(GOOD_FOR) == set(Kind)


def test_the_first_set_fits_its_minutes_and_begins(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter = started(room)
    view = view_of(presenter)
    minutes = int(view.sentence.split("about ")[1].split()[0])
    assert 1 <= minutes <= room.services.current_settings().ear_minutes
    assert all(row.why in {"new", "easy, to end with"} for row in view.rows)
    presenter.act()
    assert went_to(presenter) == [("drill", {})]


def test_who_asked_for_more_than_the_day_has_is_told(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    assert view_of(started(room)).shorter == ""
    asks = replace(room.services.current_settings(), ear_minutes=12)
    room.services.settings().save(asks)
    shorter = "You asked for 12 minutes; beside your piece today has room for 5."
    assert view_of(started(room)).shorter == shorter
    room.services.settings().save(replace(asks, minutes_a_day=60))
    assert view_of(started(room)).shorter == ""


def test_who_cannot_sing_now_gets_no_sung_drill(tmp_path: Path) -> None:
    from coach.ui.presenters.ear_plan import plan_for

    room = ScriptedRoom(tmp_path)
    presenter = started(room)
    presenter.sing("no")
    assert view_of(presenter).sings is False
    plan = plan_for(room.services, room.journal.progress)
    assert plan.set.items
    assert all(item.skill.key.by != "voice" for item in plan.set.items)


@pytest.mark.window
def test_a_broken_drill_of_ones_own_is_told_and_the_set_stands(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.ear.screen import EarPage

    (tmp_path / "drills").mkdir()
    (tmp_path / "drills" / "mine.toml").write_text('name = "mine"\nkind = "juggling"\n')
    page = window.show(EarPage(a_context(), EarPresenter(ScriptedRoom(tmp_path), Now(), Went())), "ear")
    assert "A drill was left out." in window.words()
    assert "mine.toml, line 2" in window.words()
    assert page.action == "Begin"


@pytest.mark.window
def test_the_choice_to_sing_is_tapped(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.ear.screen import EarPage

    room = ScriptedRoom(tmp_path)
    window.show(EarPage(a_context(), EarPresenter(room, Now(), Went())), "ear")
    window.tap_words("I can't sing now")
    assert room.services.current_settings().can_sing is False
    window.tap_words("Begin")
