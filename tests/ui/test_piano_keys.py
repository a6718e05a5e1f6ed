# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Piano keys at the workbench: every key is a target, and notes are entered by touch and by keys."""

from fractions import Fraction
from typing import Any

import pytest

from coach.fretboard.tuning import STANDARD
from coach.notation import LineKind
from coach.ui.presenters.drawn import KeysView
from coach.ui.theme import EVENING, TARGET_DP, Look
from tests.ui.bench_room import BenchRoom, KnownDesk
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.stage import a_context

pytestmark = pytest.mark.window
RIGHT, LEFT, UP, DOWN, SPACE, TAB = 275, 276, 273, 274, 32, 9
BLACK_CLASSES = {1, 3, 6, 8, 10}
"""C sharp, D sharp, F sharp, G sharp, A sharp: the black keys of any keyboard."""


@pytest.fixture(autouse=True)
def known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coach.ui.presenters.workbench.CheckDesk", KnownDesk)


def row_of(window: RealWindow) -> Any:
    from coach.ui.widgets.piano_keys import KeyRow

    return next(widget for widget in window.walk() if isinstance(widget, KeyRow))


def opened(window: RealWindow, room: BenchRoom, *, scale: float = 1.0, line: str = "melody") -> Any:
    from coach.ui.screens.workbench.screen import build

    context = a_context(Look(EVENING, scale), room.services, room, section="A", line=line)
    page = window.show(build(context), "piece")
    window.frames(6)
    fold = window.button("Piano keys")
    page.scroll.scroll_to(fold, animate=False)
    window.frames(2)
    window.tap(fold)
    window.wait(0.3)  # the fold comes into sight
    return page


def press(window: RealWindow, row: Any, midi: int) -> None:
    x, y = row.place(midi)
    window.tap(row, (x - row.x) / row.width, (y - row.y) / row.height)


def written(room: BenchRoom, kind: LineKind = LineKind.MELODY) -> list[tuple[Fraction, int]]:
    return [(n.onset, n.midi) for n in room.journal.progress.piece.sections[0].line(kind.value).notes]


def test_white_and_black_keys_alternate_as_on_every_keyboard() -> None:
    from coach.ui.widgets.piano_keys import is_white, white_midi, white_number

    assert {midi % 12 for midi in range(128) if not is_white(midi)} == BLACK_CLASSES
    whites = [midi for midi in range(128) if midi % 12 not in BLACK_CLASSES]
    assert [white_midi(number) for number in range(len(whites))] == whites
    assert [white_number(midi) for midi in whites] == list(range(len(whites)))
    assert white_number(61) == white_number(60)


@pytest.mark.parametrize(("width", "height", "scale"), [(800, 480, 1.0), (800, 480, 1.5), (2560, 1600, 1.5)])
def test_every_key_is_a_target_and_gives_its_own_note(
    window: RealWindow, width: int, height: int, scale: float
) -> None:
    from kivy.metrics import dp

    window.resize(width, height)
    opened(window, BenchRoom(), scale=scale)
    row = row_of(window)
    seen = [midi for midi in range(36, 97) if row.usable(midi)]
    assert len(seen) >= 12
    for midi in seen:
        assert row.at(*row.place(midi)) == midi
        assert min(row.box(midi)[2:]) >= dp(TARGET_DP)
    assert not faults(window)


def test_a_note_is_entered_by_touch_and_the_keys_move_by_octaves(window: RealWindow) -> None:
    room = BenchRoom()
    window.resize(800, 480)
    opened(window, room)
    row = row_of(window)
    assert row.usable(64)  # the line's register is in sight
    press(window, row, 66)
    assert row.view.shown == 66
    window.tap_words("Place it")
    assert written(room) == [(Fraction(0), 66)]
    before = row.first
    window.tap_words("Lower keys")
    assert row.first == before - 7
    for _ in range(9):
        window.tap_words("Higher keys")
    assert row.first + row.count - 1 == row_number(row.view.highest)
    press(window, row, 79)
    window.tap_words("Place it")
    assert written(room) == [(Fraction(0), 79)]


def row_number(midi: int) -> int:
    from coach.ui.widgets.piano_keys import white_number

    return white_number(midi)


def test_a_bass_is_entered_by_keys_alone_in_its_register(window: RealWindow) -> None:
    room = BenchRoom()
    opened(window, room, line="bass")
    row = row_of(window)
    assert row.usable(45)
    for _ in range(40):
        window.key(TAB)
        if row.focused:
            break
    assert row.focused
    for key in (LEFT, LEFT, UP, DOWN, SPACE):
        window.key(key)
    assert row.view.shown == 43
    window.tap_words("Place it")
    assert written(room, LineKind.BASS) == [(Fraction(0), 43)]


def test_the_keys_reach_over_what_the_guitar_has() -> None:
    view = KeysView(LineKind.MELODY, 64)
    assert view.lowest % 12 == 0
    assert view.lowest <= min(STANDARD.strings)
    assert view.highest >= max(STANDARD.strings) + 12
