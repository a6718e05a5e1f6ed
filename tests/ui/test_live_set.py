"""The beginning of a day's ear set, through virtual devices, with nobody touching the screen."""

from pathlib import Path
from random import Random

import pytest

from coach.ui.presenters.drill import Phase
from tests.pulse import MICROPHONE, SPEAKER, PrivatePulse
from tests.ui.driver import RealWindow
from tests.ui.live_set import begin_set, is_over, phase_of, play_set, right_answer, until

pytestmark = [pytest.mark.window, pytest.mark.device]
COUNT = 3
"""Enough to see prompts, answers and the way on; ``tests/bench/ear_live.py`` runs the whole set."""


def test_drills_follow_one_another_by_sound_alone(
    window: RealWindow, virtual_devices: PrivatePulse, tmp_path: Path
) -> None:
    answers = play_set(window, virtual_devices, tmp_path, COUNT).answers
    assert len(answers) >= COUNT
    assert [answer.right for answer in answers[:COUNT]] == [True] * COUNT


def test_devices_that_vanish_pause_the_drill_and_it_goes_on_by_itself(
    window: RealWindow, virtual_devices: PrivatePulse, tmp_path: Path
) -> None:
    begun = begin_set(window, tmp_path)
    until(window, lambda: phase_of(begun.app, 1) is Phase.LISTENING)
    for device in (MICROPHONE, SPEAKER):
        virtual_devices.unplug(device)
    until(window, lambda: "The microphone went away" in window.words())
    for device in (MICROPHONE, SPEAKER):
        virtual_devices.plug_in(device)
    until(window, lambda: phase_of(begun.app, 1) is Phase.LISTENING)
    virtual_devices.feed(right_answer(begun.app.frame.page.presenter.prompt, Random(1)))
    until(window, lambda: is_over(begun.app, 1))
    (answer,) = begun.answers()
    assert answer.right
