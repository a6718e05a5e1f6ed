"""The beat of a piece as the screens show it: by the real control, on a recording of ticks."""

from fractions import Fraction

import numpy as np

from coach.pieces.beat_marks import BeatMarks
from coach.ui.presenters.beat import STAYS
from coach.ui.presenters.beat_control import BeatControl
from coach.ui.presenters.beat_view import BeatPageView
from coach.ui.presenters.choose_view import ChooseView, Decision
from tests.ui.case import Case, five, page_of

RATE_HZ, FIRST_S, STEP_S, BEATS = 1_000, 0.7, 0.6, 44
TIMES = tuple(FIRST_S + STEP_S * number for number in range(BEATS))
MARKS = BeatMarks(TIMES, 1)


def ticking() -> np.ndarray:
    """Beats that die away, each fourth one louder."""
    time = np.arange(round((FIRST_S + STEP_S * BEATS) * RATE_HZ)) / RATE_HZ
    sound = np.zeros(len(time), np.float32)
    for number, at in enumerate(TIMES):
        loud = 0.8 if number % 4 == 1 else 0.4 + 0.05 * (number % 3)
        sound += np.where(time >= at, loud * np.exp(-np.maximum(time - at, 0.0) / 0.15), 0.0).astype(
            np.float32
        )
    return sound * np.float32(0.5)


def a_control(player: object = None, marks: BeatMarks | None = MARKS) -> BeatControl:
    return BeatControl(
        lambda: player, ticking(), RATE_HZ, marks, pickup=Fraction(1), found_s=TIMES, volume_db=-6.0
    )


def _near() -> BeatControl:
    control = a_control()
    control.look_at(2)
    control.change(lambda work: work.shift(1))
    return control


def _tapping() -> BeatControl:
    control = a_control()
    control.tap_anew()
    return control


_HEAR, _NEAR, _TAP = a_control(), _near(), _tapping()
_FAILS = ("The recording of this piece is not here: bring the file in again.", "Bring it in again.")


def _case(word: str, page: str, view: object) -> Case:
    views = five(
        view,
        empty="There is no section to work on yet.",
        work="Opening the recording",
        missing=_FAILS,
        failed=("The recording could not be opened.", _FAILS[0]),
    )
    return Case(page_of(word, page), views)


BEAT_CASES = {
    "choose: the beat": _case(
        "choose",
        "ChoosePage",
        ChooseView(
            Decision.BEAT,
            _HEAR.sentence,
            "That is the beat",
            beat=_HEAR.view(),
            said="I am not sure which beat is ONE: listen for it.",
        ),
    ),
    "choose: tapping": _case(
        "choose", "ChoosePage", ChooseView(Decision.BEAT, _TAP.sentence, "Listen", beat=_TAP.view())
    ),
    "choose: single beats": _case(
        "choose", "ChoosePage", ChooseView(Decision.BEAT, _NEAR.sentence, "Hear the whole", beat=_NEAR.view())
    ),
    "beat": _case(
        "beat",
        "BeatPage",
        BeatPageView(
            _NEAR.sentence, _NEAR.view(), "Keep these beats", "Leave them as they were", words=STAYS
        ),
    ),
}
