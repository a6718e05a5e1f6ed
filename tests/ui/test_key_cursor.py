# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The neck and the line strip worked by key alone."""

from fractions import Fraction
from typing import Any

import pytest

from coach.notation.line import LineKind
from coach.ui.keys import ENTER, ESCAPE, SPACE, TAB
from coach.ui.presenters.drawn import NeckNote, NeckView, StripNote, StripView
from coach.ui.presenters.view import Ready
from coach.ui.theme import EVENING, Look
from tests.ui.driver import RealWindow
from tests.ui.stage import Shown, a_context

pytestmark = pytest.mark.window

UP, DOWN, RIGHT, LEFT = 273, 274, 275, 276
M, B = LineKind.MELODY, LineKind.BASS
NAMES = ("E", "B", "G", "D", "A", "E")
STRIP = StripView(
    tuple(Fraction(4 * bar) for bar in range(3)), Fraction(1), (StripNote(M, Fraction(0), Fraction(1), "D"),)
)


class Both:
    """A page with a neck and a strip; remembers what was tapped."""

    def __init__(self, window: RealWindow, neck: NeckView, *, left_handed: bool = False) -> None:
        self.window, self.view = window, neck
        self.places: list[tuple[int, int]] = []
        self.times: list[tuple[LineKind, Fraction]] = []
        self.page = window.show(self._page(Look(EVENING, left_handed=left_handed)))

    def _page(self, look: Look) -> Any:
        from coach.ui.widgets.neck import FretboardView
        from coach.ui.widgets.page import Page
        from coach.ui.widgets.strip import LineStrip

        both = self

        class BothPage(Page):
            def draw(self, value: object) -> None:
                self.neck = FretboardView(look, both.view, lambda *at: both.places.append(at))
                self.strip = LineStrip(look, STRIP, lambda *at: both.times.append(at))
                self.put(self.neck, self.strip)
                self.action = "Do it"

        return BothPage(a_context(look), Shown(Ready(1)))

    def ring(self, widget: Any) -> None:
        """Tab until the ring is on a drawing."""
        for _ in range(20):
            if widget.focused:
                return
            self.window.key(TAB)
        raise AssertionError("Tab does not get there")

    def keys(self, *keys: int) -> None:
        for key in keys:
            self.window.key(key)


def test_arrows_move_over_strings_and_frets_and_enter_taps(window: RealWindow) -> None:
    both = Both(window, NeckView(NAMES))
    both.ring(both.page.neck)
    both.keys(ENTER, RIGHT, RIGHT, DOWN, ENTER, LEFT, SPACE, UP, UP, LEFT, LEFT, ENTER)
    assert both.places == [(1, 0), (2, 2), (2, 1), (1, 0)]
    both.keys(*[DOWN] * 9, *[RIGHT] * 30, ENTER)
    assert both.places[-1] == (6, both.view.frets)
    assert both.page.presenter.acts == 0


def test_the_cursor_begins_at_a_note_and_follows_a_left_handed_neck(window: RealWindow) -> None:
    both = Both(window, NeckView(NAMES, (NeckNote(M, 2, 3, "D"),)), left_handed=True)
    both.ring(both.page.neck)
    both.keys(ENTER, LEFT, ENTER, RIGHT, RIGHT, ENTER)
    assert both.places == [(2, 3), (2, 4), (2, 2)]


def test_the_neck_moves_under_the_cursor_where_not_all_frets_fit(window: RealWindow) -> None:
    window.resize(800, 480)
    both = Both(window, NeckView(NAMES))
    neck = both.page.neck
    both.ring(neck)
    both.keys(*[RIGHT] * both.view.frets)
    x, _ = neck.place(1, both.view.frets)
    assert neck.first > 0
    assert neck.x < x < neck.right
    both.keys(*[LEFT] * both.view.frets)
    assert neck.first == 0


def test_the_ring_shows_and_without_it_arrows_are_the_pedals(window: RealWindow) -> None:
    both = Both(window, NeckView(NAMES))
    before = window.pixels().copy()
    both.ring(both.page.neck)
    both.keys(RIGHT)
    assert (window.pixels() != before).any()
    both.keys(ESCAPE, RIGHT)
    assert both.page.presenter.acts == 1
    assert both.places == []


def test_a_neck_made_anew_keeps_the_cursor(window: RealWindow) -> None:
    both = Both(window, NeckView(NAMES))
    both.ring(both.page.neck)
    both.keys(RIGHT, RIGHT, ENTER)
    both.page.presenter.show(Ready(2))
    window.frames(6)
    both.keys(RIGHT, ENTER)
    assert both.places == [(1, 2), (1, 3)]
    assert both.page.neck.focused


def test_the_strip_is_gone_along_by_its_grid_and_tapped(window: RealWindow) -> None:
    both = Both(window, NeckView(NAMES))
    both.ring(both.page.strip)
    grid = both.page.strip.grid
    both.keys(ENTER, RIGHT, RIGHT, RIGHT, DOWN, ENTER, LEFT, UP, SPACE)
    assert both.times == [(M, Fraction(0)), (B, 3 * grid), (M, 2 * grid)]
    both.keys(*[RIGHT] * 40, ENTER, *[LEFT] * 40, ENTER)
    assert [time for _, time in both.times[-2:]] == [Fraction(8) - grid, Fraction(0)]
    assert both.page.presenter.acts == 0
