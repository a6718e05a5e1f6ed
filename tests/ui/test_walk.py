"""A walk over all screens: every state, size, theme and text size; nothing clipped."""

import numpy as np
import pytest

from coach.ui.screens.table import SCREENS
from coach.ui.theme import EVENING, PAPER, Look, Theme
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.five_states import CASES, STATES
from tests.ui.stage import a_context

pytestmark = pytest.mark.window

SIZES = ((800, 480), (1280, 800), (2560, 1600), (800, 1280))


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize(("theme", "scale"), [(EVENING, 1.0), (PAPER, 1.5)], ids=["evening", "paper-large"])
@pytest.mark.parametrize("word", CASES)
def test_nothing_is_clipped(
    window: RealWindow, word: str, theme: Theme, scale: float, size: tuple[int, int]
) -> None:
    window.resize(*size)
    # Notices are the same four drawings everywhere: the lowest window with the largest text finds them all.
    hardest = size == SIZES[0] and scale > 1
    for state in STATES if hardest else ("ready",):
        window.show(CASES[word].make(a_context(Look(theme, scale)), state))
        assert not faults(window), state


@pytest.mark.parametrize("word", CASES)
def test_every_state_is_drawn(window: RealWindow, word: str) -> None:
    seen = []
    for state in STATES:
        window.show(CASES[word].make(a_context(), state))
        picture = window.pixels()
        colours = picture.astype(np.uint32) @ np.array([65536, 256, 1], np.uint32)
        assert len(np.unique(colours)) > 20, state
        seen.append(picture.tobytes())
    assert len(set(seen)) == len(STATES)


@pytest.mark.parametrize("word", CASES)
def test_a_notice_is_acted_on_and_work_is_stopped(window: RealWindow, word: str) -> None:
    page = window.show(CASES[word].make(a_context(), "working"))
    window.tap_words("Stop")
    assert page.presenter.cancels == 1
    for state, action in (("failed", "Try again"), ("empty", "Go on"), ("missing", "Look again")):
        page = window.show(CASES[word].make(a_context(), state))
        window.tap_words(action)
        assert page.presenter.acts == 1, state


def test_every_screen_of_the_table_is_walked() -> None:
    assert {screen.word for screen in SCREENS} == {case.split(":")[0] for case in CASES}
