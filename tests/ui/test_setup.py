# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Set-up: every answer is kept and read back; the cards with real taps in the whole app."""

from pathlib import Path

import pytest

from coach.bootstrap import make_services
from coach.music.naming import Naming
from coach.practice.settings import Settings
from coach.sessions.practice_room import PracticeRoom
from coach.ui.presenters.jobs import InlineRunner
from coach.ui.presenters.setup import SetupPresenter, SetupView
from coach.ui.presenters.setup_cards import CARDS, Question
from coach.ui.presenters.view import Empty, Ready
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went

QUESTIONS = [question for card in CARDS for question in card.questions]


def started(room: ScriptedRoom, card: str | None = None) -> SetupPresenter:
    presenter = SetupPresenter(room, Now(), InlineRunner(), Went(), card)
    presenter.opened()
    return presenter


def view_of(presenter: SetupPresenter) -> SetupView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.key)
def test_what_is_answered_is_what_is_read(question: Question) -> None:
    for option, _ in question.options:
        assert question.read(question.write(Settings(), option)) == option
    assert question.read(Settings()) in dict(question.options)


def test_cards_are_gone_through_skipped_and_gone_back(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter = started(room)
    assert view_of(presenter).title == "Can I hear you?"
    assert presenter.levels is not None
    presenter.act()
    presenter.skip()
    assert view_of(presenter).number == 3
    presenter.back()
    assert view_of(presenter).number == 2
    assert room.services.current_settings().set_up_done == ("room",)
    for _ in range(len(CARDS) - 1):
        presenter.skip()
    assert isinstance(presenter.view, Empty)
    presenter.act()
    assert presenter._go.to == [("today", {})]  # type: ignore[attr-defined]


def test_an_answer_is_kept_at_once(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    started(room, "hands").choose("reach", "wide")
    presenter = started(room, "names")
    presenter.choose("naming", "german")
    kept = make_services(tmp_path).current_settings()
    assert (kept.reach, kept.naming) == ("seasoned", Naming.GERMAN)
    assert presenter._go.to == [("setup", {"card": "names"}), ("restart", {})]  # type: ignore[attr-defined]


def test_without_a_microphone_the_card_says_so_and_goes_on(tmp_path: Path) -> None:
    presenter = started(ScriptedRoom(tmp_path, microphone=False))
    assert view_of(presenter).note.startswith("There is no microphone")
    presenter.act()
    assert view_of(presenter).number == 2


def test_the_tuner_is_opened_from_its_card(tmp_path: Path) -> None:
    presenter = started(ScriptedRoom(tmp_path), "tuning")
    presenter.use("tuner")
    assert presenter._go.to == [("tuner", {})]  # type: ignore[attr-defined]


@pytest.mark.window
def test_text_size_and_colours_are_changed_by_tapping_in_the_app(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.shell import CoachApp
    from coach.ui.theme import PAPER

    services = make_services(tmp_path)
    app = window.start(CoachApp(services, "today"))
    window.tap(app.frame.places["setup"])
    for _ in range(len(CARDS) - 1):
        window.tap_words("Skip")
    window.tap_words("largest")
    assert app.frame.look.text_scale == 1.5
    assert "How it looks" in window.words()
    window.tap_words("always light")
    assert app.frame.look.theme is PAPER
    assert services.current_settings().dark is False
    assert isinstance(app.room, PracticeRoom)
    window.tap_words("Done")
    window.tap_words("Back to Today")
    assert app.word == "today"
