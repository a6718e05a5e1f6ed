# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The Together page in a real window: real taps and drags on the neck, left-handed too."""

from pathlib import Path
from typing import Any

import pytest

from coach.notation import LineKind
from coach.practice.events import IdeaNoted, LineWritten, TogetherSettled
from coach.ui.presenters.together_view import THIRD_NOTE
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
