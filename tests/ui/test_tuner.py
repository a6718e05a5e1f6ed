# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The tuner: words, a real ear in a scripted room, real taps."""

from pathlib import Path

import pytest

from coach.hearing.tuner.tuner import TunerReading
from coach.practice.events import StringTuned
from coach.ui.presenters.tuner import TunerPresenter, TunerView, tuning_words
from coach.ui.presenters.view import Missing, Ready
from coach.ui.widgets.dial import along
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context, went_to


@pytest.fixture
def room(tmp_path: Path) -> ScriptedRoom:
    return ScriptedRoom(tmp_path)


def started(room: ScriptedRoom) -> TunerPresenter:
    presenter = TunerPresenter(room, Now(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: TunerPresenter) -> TunerView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


@pytest.mark.parametrize(
    ("cents", "words"),
    [
        (-9.0, "Your D is a little low: tighten slightly."),
        (9.0, "Your D is a little high: loosen slightly."),
        (-40.0, "Your D is low: tighten."),
        (160.0, "Your D is far too high: loosen slowly."),
        (3.0, "Your D is there: let it ring a moment."),
    ],
)
def test_which_way_to_turn(cents: float, words: str) -> None:
    assert tuning_words("D", cents, in_tune=False) == words


@pytest.mark.parametrize(
    ("cents", "words"), [(-0.3, "0 cents"), (0.4, "0 cents"), (-9.4, "−9 cents"), (12.0, "+12 cents")]
)
def test_the_cents_are_whole_and_none_has_no_sign(cents: float, words: str) -> None:
    from coach.ui.screens.tuner.screen import cents_words

    assert cents_words(cents) == words


@pytest.mark.window
@pytest.mark.parametrize(("size", "scale"), [((800, 480), 1.0), ((800, 480), 1.5), ((1280, 800), 1.5)])
def test_all_strings_are_in_sight_without_scrolling(
    window: RealWindow, room: ScriptedRoom, size: tuple[int, int], scale: float
) -> None:
    from coach.ui.screens.tuner.screen import TunerPage
    from coach.ui.theme import PAPER, Look

    window.resize(*size)
    presenter = TunerPresenter(room, Now(), Went())
    page = window.show(TunerPage(a_context(Look(PAPER, scale)), presenter), "setup")
    for longest in (False, True):
        if longest:
            presenter.lock(6)
            room.sing(57, seconds=3.0)
            room.until(lambda: "no plucked string" in view_of(presenter).sentence)
            window.frames(3)
        assert len(window.buttons()) >= len("EADGBE")
        assert page.scroll.height >= page.body.height - 1
        assert not faults(window)


def test_the_bead_moves_the_right_way_and_most_near_the_middle() -> None:
    assert along(0.0) == 0.0
    assert -1.0 == along(-300.0) < along(-20.0) < 0.0 < along(20.0) < along(100.0) == 1.0
    assert along(10.0) - along(0.0) > along(60.0) - along(50.0)


def test_a_string_in_tune_is_logged_once_and_the_next_one_is_named(room: ScriptedRoom) -> None:
    presenter = started(room)
    assert view_of(presenter).sentence == "Pluck a string, and let it ring."
    room.pluck(40, seconds=2.5)
    room.until(lambda: view_of(presenter).in_tune)
    view = view_of(presenter)
    assert view.sentence == "Your low E is in tune. Next: A."
    assert [string.done for string in view.strings] == [True, False, False, False, False, False]
    room.world.let_pass(1.0)
    (tuned,) = room.events(StringTuned)
    assert tuned.string == 6
    assert abs(tuned.cents) < 5


def reading(cents: float, *, steady: bool, in_tune: bool, pluck: int = 1) -> TunerReading:
    return TunerReading(5, 45, cents, steady, in_tune, False, 0.0, pluck, -20.0)


def test_a_hand_on_the_string_does_not_put_it_out_of_tune(room: ScriptedRoom) -> None:
    presenter = started(room)
    presenter._take(reading(1.0, steady=True, in_tune=True))
    presenter._take(reading(-30.0, steady=False, in_tune=False))
    presenter._refresh()
    assert view_of(presenter).sentence.startswith("Your A is in tune.")
    presenter._take(reading(-30.0, steady=True, in_tune=False, pluck=2))
    presenter._refresh()
    assert view_of(presenter).sentence == "Your A is low: tighten."
    assert not view_of(presenter).strings[1].done, "it was in tune, and is no more"


def test_two_strings_of_one_name_are_told_apart(room: ScriptedRoom) -> None:
    presenter = started(room)
    called = [presenter._called(string) for string in range(6, 0, -1)]
    assert called == ["low E", "A", "D", "G", "B", "high E"]


def test_a_locked_string_is_told_how_far_it_is(room: ScriptedRoom) -> None:
    presenter = started(room)
    presenter.lock(4)
    assert view_of(presenter).sentence == "Pluck the D string, and let it ring."
    room.pluck(49, seconds=2.0)
    room.until(lambda: view_of(presenter).cents is not None)
    view = view_of(presenter)
    assert view.cents is not None
    assert -110 < view.cents < -85
    assert "low" in view.sentence
    assert room.events(StringTuned) == []
    presenter.lock(4)
    assert view_of(presenter).locked is None


def test_humming_shows_no_string_and_a_pluck_does(room: ScriptedRoom) -> None:
    presenter = started(room)
    room.sing(57, seconds=3.0)
    room.until(lambda: "no plucked string" in view_of(presenter).sentence)
    view = view_of(presenter)
    assert view.sentence == "I hear a sound, but no plucked string. Pluck a string, and let it ring."
    assert view.cents is None
    assert not any(string.meant for string in view.strings)
    assert room.events(StringTuned) == []
    room.world.let_pass(3.0)
    assert view_of(presenter).sentence == "Pluck a string, and let it ring."
    room.pluck(45, seconds=2.5)
    room.until(lambda: view_of(presenter).in_tune)
    assert view_of(presenter).sentence.startswith("Your A is in tune.")


def test_without_a_microphone_it_says_so(tmp_path: Path) -> None:
    assert isinstance(started(ScriptedRoom(tmp_path, microphone=False)).view, Missing)


@pytest.mark.window
def test_the_page_says_that_it_hears_no_string(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.tuner.screen import TunerPage

    presenter = TunerPresenter(room, Now(), Went())
    page = window.show(TunerPage(a_context(), presenter), "setup")
    window.tap_words("D")
    room.sing(50, seconds=3.0)
    room.until(lambda: "no plucked string" in view_of(presenter).sentence)
    window.frames(3)
    assert "I hear a sound, but no plucked string. Pluck the D string, and let it ring." in window.words()
    assert page._dial._bead.size[0] == 0
    assert not faults(window)


@pytest.mark.window
def test_the_page_follows_the_string(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.tuner.screen import TunerPage

    presenter = TunerPresenter(room, Now(), Went())
    page = window.show(TunerPage(a_context(), presenter), "setup")
    room.pluck(40, seconds=2.5)
    room.until(lambda: view_of(presenter).in_tune)
    window.frames(3)
    assert "Your low E is in tune. Next: A." in window.words()
    assert "E ✓" in window.buttons()
    assert page._dial._bead.size[0] > 0
    window.tap_words("A")
    assert "Pluck the A string" in window.words()
    window.tap_words("Done")
    assert went_to(presenter) == [("today", {})]
