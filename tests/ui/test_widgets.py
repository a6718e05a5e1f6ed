# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The shared drawings with real taps and pixels in the real window."""

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from coach.hearing.frames import F0Frame
from coach.notation.line import LineKind
from coach.ui.presenters.drawn import (
    DayMark,
    Loop,
    NeckNote,
    NeckView,
    OtherPlace,
    SkillCell,
    StripNote,
    StripView,
    Target,
    Tile,
)
from coach.ui.presenters.view import Ready
from coach.ui.theme import EVENING, Look, channels
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.stage import Shown, a_context

pytestmark = pytest.mark.window

M, B = LineKind.MELODY, LineKind.BASS
NECK = NeckView(
    ("E", "B", "G", "D", "A", "E"),
    (NeckNote(M, 2, 3, "D", 3, "m"), NeckNote(B, 5, 2, "B", 1, "p")),
    (OtherPlace(M, 3, 7), OtherPlace(M, 4, 12, 118.0)),
)


def put(window: RealWindow, make: Callable[[Look], Any], look: Look | None = None) -> Any:
    """Show one widget on a page of its own; gives the widget."""
    from coach.ui.widgets.page import Page

    class One(Page):
        def draw(self, value: object) -> None:
            self.one = make(self.look)
            self.put(self.one)

    page = window.show(One(a_context(look or Look(EVENING)), Shown(Ready(1))))
    assert not faults(window)
    return page.one


def colour_at(window: RealWindow, at: tuple[float, float]) -> np.ndarray:
    """Colour of a point in window coordinates, each channel 0 to 255."""
    pixels = window.pixels()
    return pixels[pixels.shape[0] - 1 - round(at[1]), round(at[0])].astype(int)


def near(colour: np.ndarray, wanted: str) -> bool:
    return bool(np.abs(colour - 255 * np.array(channels(wanted))).max() < 12)


def tap_at(window: RealWindow, widget: Any, x: float, y: float) -> None:
    window.tap(widget, (x - widget.x) / widget.width, (y - widget.y) / widget.height)


# --- fretboard --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("size", [(1280, 800), (800, 480)])
def test_a_tap_on_the_neck_gives_string_and_fret(
    window: RealWindow, size: tuple[int, int], *, left_handed: bool
) -> None:
    from coach.ui.widgets.neck import FretboardView

    window.resize(*size)
    taps: list[tuple[int, int]] = []
    neck = put(
        window,
        lambda look: FretboardView(look, NECK, lambda *at: taps.append(at)),
        Look(left_handed=left_handed),
    )
    page = window.frame.page
    for place in ((1, 0), (2, 3), (5, 5), (6, 1)):
        page.scroll.scroll_y = 1.0 if place[0] < 4 else 0.0
        window.frames(3)
        tap_at(window, neck, *neck.place(*place))
    assert taps == [(1, 0), (2, 3), (5, 5), (6, 1)]
    nut, fret = neck.place(1, 0)[0], neck.place(1, 3)[0]
    assert (nut > fret) is left_handed


def test_melody_is_round_and_bass_is_square_on_the_neck(window: RealWindow) -> None:
    from coach.ui.widgets.neck import FretboardView

    neck = put(window, lambda look: FretboardView(look, NECK))
    r = neck.radius
    for string, fret, colour, corner in ((2, 3, EVENING.melody, False), (5, 2, EVENING.bass, True)):
        x, y = neck.place(string, fret)
        at = neck.to_window(x, y)
        assert near(colour_at(window, (at[0] - r * 0.5, at[1])), colour)
        # A point at the lower left, inside the square of this size and outside the circle.
        assert near(colour_at(window, (at[0] - r * 0.8, at[1] - r * 0.8)), colour) is corner


def test_high_frets_are_reached_by_dragging_and_followed_by_themselves(window: RealWindow) -> None:
    from dataclasses import replace

    from kivy.tests.common import UnitTestTouch

    from coach.ui.widgets.neck import FretboardView

    window.resize(800, 480)
    neck = put(window, lambda look: FretboardView(look, NECK))
    assert neck.frets_shown < 12
    touch = UnitTestTouch(*neck.to_window(neck.center_x, neck.center_y))
    touch.touch_down()
    window.wait(0.2)  # a scrolled column keeps a touch for 80 ms before it hands it on
    for step in range(1, 8):
        touch.touch_move(neck.center_x + 96 - 40 * step, neck.center_y)
        window.frames(1)
    touch.touch_up()
    window.frames(4)
    assert neck.first == 12 - neck.frets_shown
    neck.show(replace(NECK, notes=(NeckNote(M, 1, 1, "F", 1),)))
    assert neck.first == 0


# --- tiles and strip --------------------------------------------------------------------------------------


def test_first_and_last_tile_tapped_make_the_loop(window: RealWindow) -> None:
    from coach.ui.widgets.tiles import BarTiles

    loops: list[Loop] = []
    tiles = [Tile(number, (0.2, 0.8, 0.4)) for number in range(1, 9)]
    bars = put(window, lambda look: BarTiles(look, tiles, Loop(0, 7), loops.append))
    for index in (2, 4, 6, 1):
        window.tap(bars.tiles[index])
    assert loops == [Loop(2, 2), Loop(2, 4), Loop(6, 6), Loop(1, 1)]
    assert [tile.inside for tile in bars.tiles] == [False, True, *[False] * 6]
    bars.cursor(1.5)
    assert bars.tiles[1]._cursor.points[0] == pytest.approx(bars.tiles[1].center_x)
    assert not bars.tiles[0]._cursor.points


@pytest.mark.parametrize("size", [(1280, 800), (800, 480), (800, 1280)])
def test_a_tap_on_the_strip_gives_line_and_time(window: RealWindow, size: tuple[int, int]) -> None:
    from coach.ui.widgets.strip import LineStrip

    window.resize(*size)
    taps: list[tuple[LineKind, Fraction]] = []
    bars = (
        Fraction(0),
        Fraction(1),
        Fraction(5),
        Fraction(9),
        Fraction(13),
        Fraction(17),
    )  # an upbeat of one quarter, then four bars of 4/4
    view = StripView(
        bars,
        Fraction(1),
        (StripNote(M, Fraction(0), Fraction(1), "G"), StripNote(B, Fraction(1), Fraction(4), "C")),
        first_number=0,
    )
    strip = put(window, lambda look: LineStrip(look, view, lambda *what: taps.append(what)))
    wanted = [
        (M, Fraction(0)),
        (B, Fraction(1)),
        (M, Fraction(7, 2)),
        (B, Fraction(12)),
        (M, Fraction(33, 2)),
    ]
    page = window.frame.page
    for kind, time in wanted:
        x, row = strip.place(time)
        page.scroll.scroll_y = 1.0 if row == 0 else 0.0
        window.frames(3)
        tap_at(window, strip, x + 6, strip.lane_y(kind, row))
    assert taps == wanted


# --- thread -----------------------------------------------------------------------------------------------


class Ear:
    heard_s = 6.0
    f0_hz = 220.0

    def frames_since(self, time_s: float) -> list[F0Frame]:
        times = [index * 0.016 for index in range(375)]
        return [F0Frame(time, self.f0_hz, 0.9, True, time) for time in times if time >= time_s]


def test_the_thread_follows_the_player_and_makes_no_new_instructions(window: RealWindow) -> None:
    from coach.ui.widgets.thread import PitchThread

    ear = Ear()
    thread = put(window, lambda look: PitchThread(look, ear))
    made = len(thread.canvas.children)
    ear.f0_hz = 440.0
    window.frames(5)
    assert thread.middle == 69
    ys = thread._runs[0].points[1::2]
    assert ys[0] == pytest.approx(thread.y_of(69.0))
    window.frames(20)
    assert len(thread.canvas.children) == made


def test_the_target_joins_the_thread(window: RealWindow) -> None:
    from coach.ui.widgets.thread import PitchThread

    thread = put(window, lambda look: PitchThread(look, Ear()))
    before = window.pixels()
    thread.targets([Target(2.0, 5.0, 58.0)])
    window.frames(2)
    assert (window.pixels() != before).any()
    assert thread.middle == 58.0


# --- sheet, charts, field ---------------------------------------------------------------------------------


def test_the_sheet_shows_its_pixels_upright(window: RealWindow) -> None:
    from coach.ui.widgets.sheet import PageImage, SheetView

    red, blue = bytes((255, 0, 0, 255)), bytes((0, 0, 255, 255))
    sheet = put(window, lambda look: SheetView(look, [PageImage(8, 4, red * 16 + blue * 16)]))
    paper = sheet.children[0]
    assert paper.height == pytest.approx(paper.width / 2)
    x, top = paper.to_window(paper.center_x, paper.top)
    assert near(colour_at(window, (x, top - 20)), "#FF0000")
    with pytest.raises(ValueError, match="bytes"):
        PageImage(8, 4, b"")


def test_charts_draw_what_they_are_given_at_large_text_too(window: RealWindow) -> None:
    from coach.ui.widgets.charts import BarChart, DayMarks, SkillGrid
    from coach.ui.widgets.layout import Column

    week = [DayMark("day", minutes, today=minutes == 9) for minutes in (0, 5, 9, 30, 90, 0, 1)]

    def make(look: Look) -> Any:
        return Column(
            BarChart(look, ["46", "47", "48"], [0, 60, 120], goal=100),
            DayMarks(look, [("24 Nov", week)] * 5),
            SkillGrid(look, [SkillCell("Echo", 0.8, "sure"), SkillCell("Bass moves", None, "not met yet")]),
        )

    window.resize(800, 480)
    put(window, make, Look(text_scale=1.5))
    assert "not met yet" in window.words()


def test_text_is_typed_and_keys_do_not_press_the_action_meanwhile(window: RealWindow) -> None:
    from coach.ui.widgets.field import Field

    said: list[str] = []
    field = put(window, lambda look: Field(look, "Title", ended=said.append))
    page = window.frame.page
    page.action = "Go"
    window.tap(field.entry)
    assert field.entry.focus
    field.entry.insert_text("Canal")
    window.key(32, " ")
    assert page.presenter.acts == 0
    window.key(13)
    field.entry.dispatch("on_text_validate")
    assert said[-1] == "Canal"


def test_one_of_several_is_chosen(window: RealWindow) -> None:
    from coach.ui.widgets.buttons import Choice

    chosen: list[str] = []
    options = [("english", "C D E"), ("solfege", "do re mi"), ("german", "German, with H")]
    choice = put(window, lambda look: Choice(look, options, "english", chosen.append), Look(text_scale=1.5))
    window.tap(choice.buttons["german"])
    assert chosen == ["german"]
    assert [button.chosen for button in choice.buttons.values()] == [False, False, True]


def test_signs_that_the_text_font_lacks_come_from_the_other_one(window: RealWindow) -> None:
    from coach.ui.drawing import glyph, marked_up

    assert marked_up("F♯ [b]") == "F[font=DejaVuSans]♯[/font] &bl;b&br;"
    missing = glyph("\ue123", 40).pixels
    assert glyph("♯", 40).pixels != missing
    assert glyph("✓", 40).pixels != missing
