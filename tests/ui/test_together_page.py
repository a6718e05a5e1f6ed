# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The Together page in a real window: real taps and drags on the neck, left-handed too."""

from pathlib import Path
from typing import Any

import pytest

from coach.notation import LineKind
from coach.practice.events import IdeaNoted, LineWritten, TogetherSettled
from coach.ui.presenters.together_view import THIRD_NOTE, Sounding
from coach.ui.theme import EVENING, Look
from tests.ui.driver import TAP_FRAMES, RealWindow
from tests.ui.neck_room import EASY, TOO_WIDE, Given, opened, room_with, view_of, went
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import a_context

pytestmark = pytest.mark.window
LOWEST = (800, 480)
"""The lowest window that is drawn for."""


def shown(
    window: RealWindow,
    folder: Path,
    lines: tuple[list[Given], list[Given]] = EASY,
    *,
    left_handed: bool = False,
    capo: int = 0,
) -> tuple[Any, ScriptedRoom]:
    from coach.ui.screens.together.screen import TogetherPage

    room = room_with(folder, lines, capo, left_handed=left_handed)
    look = Look(EVENING, left_handed=left_handed)
    page = window.show(TogetherPage(a_context(look), opened(room)), "piece")
    return page, room


def tap_neck(window: RealWindow, page: Any, string: int, fret: int) -> None:
    x, y = page.neck.place(string, fret)
    window.tap(page.neck, (x - page.neck.x) / page.neck.width, (y - page.neck.y) / page.neck.height)


def drag_note(window: RealWindow, page: Any, start: tuple[int, int], end: tuple[int, int]) -> None:
    from kivy.tests.common import UnitTestTouch

    neck = page.neck
    touch = UnitTestTouch(*neck.to_window(*neck.place(*start)))
    touch.touch_down()
    window.frames(1)
    for _ in range(2):
        touch.touch_move(*neck.to_window(*neck.place(*end)))
        window.frames(1)
    touch.touch_up()
    window.frames(TAP_FRAMES)


def place_of(page: Any, kind: LineKind) -> tuple[int, int]:
    (note,) = (note for note in page.neck.view.notes if note.kind is kind)
    return note.string, note.fret


def test_a_note_is_moved_by_tap_and_by_drag(window: RealWindow, tmp_path: Path) -> None:
    page, _ = shown(window, tmp_path)
    tap_neck(window, page, 2, 5)
    assert place_of(page, LineKind.MELODY) == (2, 5)
    assert page.said.said == view_of(page.presenter).said != ""
    drag_note(window, page, (5, 3), (6, 8))
    assert place_of(page, LineKind.BASS) == (6, 8)
    assert page.scroll.scroll_y == 1


def test_steps_lead_along_and_a_third_note_is_refused(window: RealWindow, tmp_path: Path) -> None:
    page, room = shown(window, tmp_path)
    window.tap_words("Next note")
    assert page.moment.said.startswith("Bar 1, beat 2.")
    assert [note.held for note in page.neck.view.notes] == [False, True]
    tap_neck(window, page, 3, 1)
    assert page.said.said == THIRD_NOTE
    assert len(room.events(IdeaNoted)) == 1
    assert page.arrow("left")
    assert page.moment.said.startswith("Bar 1, beat 1.")


def test_a_way_is_chosen_and_settled(window: RealWindow, tmp_path: Path) -> None:
    page, room = shown(window, tmp_path)
    window.tap_words("Ways to play")
    second = view_of(page.presenter).ways[1]
    button = window.button(second)
    page.scroll.scroll_to(button, animate=False)
    window.frames(TAP_FRAMES)
    window.tap(button)
    assert view_of(page.presenter).way == 1
    tap_neck_first = place_of(page, LineKind.BASS)
    window.tap_words("Good enough for now")
    assert len(room.events(TogetherSettled)) == 1
    written = room.events(LineWritten)[-1]
    assert written.by == "together"
    assert (written.notes[0].string, written.notes[0].fret) == tap_neck_first
    assert went(page.presenter) == [("play", {"section": "A"})]


def test_a_change_is_agreed_to_before_it_is_settled(window: RealWindow, tmp_path: Path) -> None:
    page, room = shown(window, tmp_path, TOO_WIDE)
    assert "Not in reach as written" in window.words()
    window.tap_words("Use this change")
    assert room.events(TogetherSettled) == []
    window.tap_words("Good enough for now")
    assert room.events(TogetherSettled)[0].changes == ("G2 an octave higher",)
    assert page.neck.view.notes


def test_the_left_hand_and_the_capo_are_honoured(window: RealWindow, tmp_path: Path) -> None:
    page, _ = shown(window, tmp_path, left_handed=True, capo=2)
    assert page.neck.view.capo == 2
    x_low, x_high = page.neck.place(1, 1)[0], page.neck.place(1, 5)[0]
    assert x_high < x_low
    place = next(other for other in page.neck.view.places if not other.out_of_reach)
    tap_neck(window, page, place.string, place.fret)
    assert place_of(page, place.kind) == (place.string, place.fret)


def test_the_lowest_window_shows_the_whole_neck_a_sentence_and_the_action(
    window: RealWindow, tmp_path: Path
) -> None:
    window.resize(*LOWEST)
    page, _ = shown(window, tmp_path)
    for widget in (page.neck, page.sentence):
        low = widget.to_window(widget.x, widget.y)[1]
        assert low >= page.scroll.to_window(*page.scroll.pos)[1]
        assert low + widget.height <= LOWEST[1]
    assert "Good enough for now" in window.buttons()


def hand_is_in_sight(page: Any) -> bool:
    neck = page.neck
    pressed = [note.fret for note in neck.view.notes if note.fret > 0] + [neck.view.hand]
    ends = [neck.along(fret) for fret in (min(pressed) - 1, max(pressed))]
    return all(neck.x - 1 <= x <= neck.right + 1 for x in ends)


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("size", [(800, 480), (1280, 800), (2560, 1600)])
def test_the_neck_comes_closer_by_button_and_key_and_the_hand_stays_in_sight(
    window: RealWindow, tmp_path: Path, size: tuple[int, int], *, left_handed: bool
) -> None:
    from kivy.metrics import dp

    window.resize(*size)
    page, _ = shown(window, tmp_path, left_handed=left_handed)
    neck, wide = page.neck, page.neck.fret_width
    assert page.wider.disabled
    page.scroll.scroll_to(page.closer, animate=False)
    window.frames(TAP_FRAMES)
    window.tap(page.closer)
    assert neck.fret_width > wide >= dp(56) - 1
    assert min(page.closer.height, page.closer.width, page.wider.height) >= dp(56)
    for _ in range(5):
        page.key(0, "+", [])
        window.frames(TAP_FRAMES)
        assert hand_is_in_sight(page)
    assert page.closer.disabled
    assert neck.height <= page.scroll.height
    for _ in range(4):
        page.arrow("right")
        window.frames(TAP_FRAMES)
        assert hand_is_in_sight(page)
    page.key(0, "0", [])
    window.frames(TAP_FRAMES)
    assert (neck.zoom, neck.fret_width) == (1.0, pytest.approx(wide))


@pytest.mark.parametrize("left_handed", [False, True])
def test_a_note_is_moved_where_it_is_seen_when_the_neck_is_near(
    window: RealWindow, tmp_path: Path, *, left_handed: bool
) -> None:
    page, _ = shown(window, tmp_path, left_handed=left_handed)
    for _ in range(2):
        window.tap(page.closer)
    tap_neck(window, page, 2, 5)
    assert place_of(page, LineKind.MELODY) == (2, 5)
    assert page.scroll.scroll_y == 1


@pytest.mark.parametrize("left_handed", [False, True])
def test_two_fingers_pinch_and_nothing_else_happens(
    window: RealWindow, tmp_path: Path, *, left_handed: bool
) -> None:
    from kivy.tests.common import UnitTestTouch

    page, room = shown(window, tmp_path, left_handed=left_handed)
    neck, before = page.neck, view_of(page.presenter)
    wide, middle = neck.fret_width, neck.along(5)
    y = neck.to_window(*neck.place(3, 5))[1]
    fingers = [UnitTestTouch(middle + neck.to_window(0, 0)[0] + side * 40, y) for side in (-1, 1)]
    for finger in fingers:
        finger.touch_down()
        window.frames(TAP_FRAMES)
    for apart in (60, 80, 100):
        for side, finger in zip((-1, 1), fingers, strict=True):
            finger.touch_move(middle + neck.to_window(0, 0)[0] + side * apart, y)
            window.frames(1)
    assert neck.fret_width > 1.5 * wide
    for finger in fingers:
        finger.touch_up()
        window.frames(TAP_FRAMES)
    assert view_of(page.presenter) == before
    assert room.events(IdeaNoted) == []
    assert hand_is_in_sight(page)


def test_a_double_tap_beside_the_strings_comes_closer_and_goes_back(
    window: RealWindow, tmp_path: Path
) -> None:
    from kivy.tests.common import UnitTestTouch

    page, room = shown(window, tmp_path)
    neck = page.neck
    for nearer in (True, False):
        x, y = neck.to_window(neck.along(3), neck.y + neck.foot / 2)
        touch = UnitTestTouch(x, y)
        touch.is_double_tap = True
        touch.touch_down()
        window.frames(TAP_FRAMES)
        touch.touch_up()
        window.frames(TAP_FRAMES)
        assert (neck.zoom > 1.0) == nearer
    assert room.events(IdeaNoted) == []


def test_a_contradiction_is_let_go_by_its_button(window: RealWindow, tmp_path: Path) -> None:
    page, _ = shown(window, tmp_path)
    page.presenter.wish_below("7")
    page.presenter.step(1)
    tap_neck(window, page, 2, 8)
    assert page.said.said.endswith("cannot both be kept: let go of one.")
    button = window.button("Let go of “below fret 7”")
    page.scroll.scroll_to(button, animate=False)
    window.frames(TAP_FRAMES)
    window.tap(button)
    assert view_of(page.presenter).below_fret is None
    assert place_of(page, LineKind.MELODY) == (2, 8)


def test_each_change_is_heard_before_and_after_where_it_is_offered(
    window: RealWindow, tmp_path: Path
) -> None:
    page, room = shown(window, tmp_path, TOO_WIDE)
    room.world.output.open()
    for words, what in (("Hear it as written", Sounding.WRITTEN), ("Hear it this way", Sounding.WAY)):
        page.scroll.scroll_to(window.button(words), animate=False)
        window.frames(TAP_FRAMES)
        window.tap(window.button(words))
        assert view_of(page.presenter).sounding is what
    window.tap_words("Hear it")
    button = window.button("very slow, 40 %")
    page.scroll.scroll_to(button, animate=False)
    window.frames(TAP_FRAMES)
    window.tap(button)
    assert view_of(page.presenter).speed == 0.4
