# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The frame with real taps and keys in the real window."""

from typing import Any

import pytest

from coach.ui.context import ScreenContext
from coach.ui.keys import ENTER, PAGE_DOWN, PAGE_UP, SPACE, TAB
from coach.ui.presenters.levels import HeardLevel
from coach.ui.presenters.view import Ready
from coach.ui.theme import Look
from tests.ui.driver import RealWindow
from tests.ui.stage import Shown, a_context, gone

pytestmark = pytest.mark.window

RIGHT, DOWN = 275, 274


def a_page(context: ScreenContext, words: str = "Do it", second: str = "", lines: int = 1) -> Any:
    from coach.ui.widgets.page import Page
    from coach.ui.widgets.text import Words

    class Plain(Page):
        seconds = 0
        arrows = ()

        def draw(self, value: str) -> None:
            self.put(*(Words(self.look, f"{value} {line}") for line in range(lines)))
            self.action, self.second = words, second

        def act_second(self) -> None:
            self.seconds += 1

    return Plain(context, Shown(Ready("line")))


def test_the_big_action_is_at_the_lower_right_and_works_by_tap_space_enter_and_pedal(
    window: RealWindow,
) -> None:
    page = window.show(a_page(a_context()))
    big = window.button("Do it")
    assert big.right > 0.9 * window.kivy.width
    assert big.y < 0.1 * window.kivy.height
    window.tap(big)
    for key in (SPACE, ENTER, PAGE_DOWN, RIGHT):
        window.key(key)
    assert page.presenter.acts == 5


def test_the_left_pedal_is_the_quieter_action(window: RealWindow) -> None:
    page = window.show(a_page(a_context(), second="Again"))
    window.key(PAGE_UP)
    window.tap_words("Again")
    assert page.seconds == 2
    assert page.presenter.acts == 0


def test_a_disabled_action_does_nothing(window: RealWindow) -> None:
    page = window.show(a_page(a_context()))
    page.action_enabled = False
    window.tap_words("Do it")
    window.key(SPACE)
    assert page.presenter.acts == 0


def test_tab_moves_a_ring_and_space_presses_what_is_in_it(window: RealWindow) -> None:
    page = window.show(a_page(a_context()))
    window.key(TAB)
    assert window.button("Do it").focused or any(place.focused for place in window.frame.places.values())
    for _ in range(len(list(window.frame.keys.focusable()))):
        if window.frame.places["log"].focused:
            break
        window.key(TAB)
    window.key(SPACE)
    assert gone(page.context) == [("log", {})]
    assert page.presenter.acts == 0


def test_places_are_tapped_in_the_rail_and_in_the_bar(window: RealWindow) -> None:
    page = window.show(a_page(a_context()), "today")
    for size in ((1280, 800), (800, 1280)):
        window.resize(*size)
        window.frames(6)
        window.tap(window.frame.places["ear"])
        window.tap(window.frame.places["setup"])
    assert gone(page.context) == [("ear", {}), ("setup", {})] * 2
    assert window.frame.places["today"].here


def test_the_rail_is_at_the_left_in_landscape_and_at_the_bottom_in_portrait(window: RealWindow) -> None:
    window.show(a_page(a_context()))
    rail = window.frame.rail
    assert (rail.x, rail.height) == (0, 800)
    window.resize(800, 1280)
    window.frames(6)
    assert (rail.y, rail.width) == (0, 800)


def test_a_long_page_scrolls_by_key(window: RealWindow) -> None:
    page = window.show(a_page(a_context(), lines=80))
    before = page.scroll.scroll_y
    window.key(DOWN)
    assert page.scroll.scroll_y < before


def test_the_level_bar_is_there_only_while_something_listens(window: RealWindow) -> None:
    class Ear:
        heard = HeardLevel(-30.0, -60.0, "I hear you.")

        def level(self) -> HeardLevel:
            return self.heard

    page = window.show(a_page(a_context(Look(text_scale=1.5))))
    assert window.frame.footer.level is None
    page.source = Ear()
    window.frames(8)
    assert "I hear you." in window.words()
    footer: Any = window.frame.footer
    bar = footer.level._bar
    assert 0 < bar._fill.size[0] < bar.width
    assert bar._floor.points[0] < bar._fill.pos[0] + bar._fill.size[0]
    page.source = None
    window.frames(3)
    assert window.frame.footer.level is None
