"""The values of the drawings, without a window."""

from math import log2

import pytest

from coach.hearing.frames import F0Frame
from coach.ui.presenters.drawn import Loop, threads
from coach.ui.presenters.levels import bar_share
from coach.ui.theme import zoom_for


def frame(time_s: float, f0_hz: float | None) -> F0Frame:
    return F0Frame(time_s, f0_hz, 0.9, f0_hz is not None, time_s)


def test_two_taps_make_a_loop_and_a_tap_before_it_begins_anew() -> None:
    loop = Loop(0, 0).tapped(2, open_end=False)
    assert loop == Loop(2, 2)
    assert loop.tapped(5, open_end=True) == Loop(2, 5)
    assert loop.tapped(1, open_end=True) == Loop(1, 1)


def test_the_thread_names_pitches_by_midi_numbers() -> None:
    # MIDI 1.0 / ISO 16: A4 = 440 Hz is note 69, C4 = 261.63 Hz (handbook table) is note 60.
    run = threads([frame(0.0, 440.0), frame(0.016, 440.0)])[0]
    assert run == ((0.0, 69.0), (0.016, 69.0))
    assert threads([frame(0.0, 261.63), frame(0.016, 261.63)])[0][0][1] == pytest.approx(60.0, abs=0.001)
    assert threads([frame(0.0, 415.0), frame(0.016, 415.0)], 415.0)[0][0][1] == pytest.approx(69.0)
    assert 69 + 12 * log2(261.63 / 440) == pytest.approx(60.0, abs=0.001)


def test_the_thread_breaks_at_silence_and_at_a_leap_but_not_at_a_slide() -> None:
    up = 2 ** (1 / 12)
    slide = [frame(index * 0.016, 220.0 * up**index) for index in range(5)]
    gap = [frame(0.1, None)]
    leap = [frame(0.2, 220.0), frame(0.216, 220.0), frame(0.232, 440.0), frame(0.248, 440.0)]
    assert [len(run) for run in threads([*slide, *gap, *leap])] == [5, 2, 2]


def test_the_level_bar_ends_at_full_scale() -> None:
    assert bar_share(0.0) == 1.0
    assert bar_share(-200.0) == 0.0
    assert 0.0 < bar_share(-50.0) < bar_share(-20.0) < 1.0


def test_only_windows_larger_than_a_tablets_are_zoomed() -> None:
    assert zoom_for(800, 480) == zoom_for(1280, 800) == zoom_for(800, 1280) == 1.0
    assert zoom_for(2560, 1600) == zoom_for(1600, 2560) == 2.0
    assert zoom_for(1920, 1080) == pytest.approx(1.35)
    assert zoom_for(8000, 6000) == 2.0
