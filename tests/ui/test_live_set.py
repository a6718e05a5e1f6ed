"""The beginning of a day's ear set, through virtual devices, with nobody touching the screen."""

from pathlib import Path

import pytest

from tests.pulse import PrivatePulse
from tests.ui.driver import RealWindow
from tests.ui.live_set import play_set

pytestmark = [pytest.mark.window, pytest.mark.device]
COUNT = 3
"""Enough to see prompts, answers and the way on; ``tests/bench/ear_live.py`` runs the whole set."""


def test_drills_follow_one_another_by_sound_alone(
    window: RealWindow, virtual_devices: PrivatePulse, tmp_path: Path
) -> None:
    answers = play_set(window, virtual_devices, tmp_path, COUNT).answers
    assert len(answers) >= COUNT
    assert [answer.right for answer in answers[:COUNT]] == [True] * COUNT
