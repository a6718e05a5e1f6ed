"""Drawing the neck nearer: what is in sight, how wide a fret is, where the hand stays."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ui.widgets.neck_window import FEWEST_FRETS, NeckWindow

TARGET = 56.0
"""dp; WCAG 2.2, 2.5.5, asks for 44 CSS pixels, the product for 56 dp."""
ROOMS = st.floats(240, 2500)
ZOOMS = st.floats(0.1, 20)
FRETS = st.integers(12, 19)


@given(ROOMS, FRETS, ZOOMS, st.floats(0, 12))
def test_a_fret_is_never_narrower_than_a_target(room: float, frets: int, zoom: float, about: float) -> None:
    window = NeckWindow(room, TARGET, frets).zoomed(zoom, about)
    assert window.fret_width >= TARGET - 1e-9
    assert 0 <= window.first <= window.last_first
    assert window.frets_shown >= min(FEWEST_FRETS, int(room / TARGET))


@given(ROOMS, FRETS, ZOOMS, st.integers(1, 8), st.integers(0, 4))
def test_what_is_pressed_stays_in_sight(room: float, frets: int, zoom: float, low: int, more: int) -> None:
    pressed = [low, low + more]
    window = NeckWindow(room, TARGET, frets).with_in_sight(pressed).zoomed(zoom, low).with_in_sight(pressed)
    assert window.first <= low - 1
    if (more + 1) * TARGET <= room:
        assert low + more <= window.first + window.frets_shown


def test_what_lies_under_the_fingers_stays_there() -> None:
    window = NeckWindow(1000, TARGET, 12)
    nearer = window.zoomed(2.0, 6.0)
    assert (6.0 - nearer.first) * nearer.fret_width == pytest.approx(6.0 * window.fret_width)


def test_wider_than_the_whole_neck_there_is_nothing() -> None:
    window = NeckWindow(1000, TARGET, 12).zoomed(2.0, 6.0).zoomed(0.0, 6.0)
    assert (window.zoom, window.first, window.shows_all) == (1.0, 0.0, True)
