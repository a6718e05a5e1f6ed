"""What begins in a take, against notes whose onsets are known because they were rendered.

An onset counts within 50 ms of the true one: the usual window (MIREX onset detection; mir_eval.onset).
"""

from functools import cache
from random import Random

import mir_eval
import numpy as np
import pytest

from coach.hearing.take import TakeEvidence, take_evidence
from coach.tones.instruments import pluck
from coach.tones.learner import EXACT, plucked
from coach.tones.prompt import PromptNote
from tests.soundfont import recorded

RATE_HZ = 44_100
WINDOW_S = 0.05
TUNE = [(64, 1.0), (65, 1.5), (67, 2.0), (67, 3.0), (71, 3.5), (69, 4.0), (60, 5.0)]
BASS = [(47, 1.0), (40, 3.0), (43, 5.0)]
"""No tune note lies among the overtones of the bass note struck with it: there it could not be told."""
NOTES = sorted(
    [(m, at, at + 0.9) for m, at in TUNE] + [(m, at, at + 2.2) for m, at in BASS], key=lambda n: n[1]
)


@cache
def heard(*, real: bool) -> TakeEvidence:
    if real:
        return take_evidence(recorded(NOTES, RATE_HZ), RATE_HZ)
    prompts = [PromptNote(*note) for note in NOTES]
    return take_evidence(plucked(prompts, RATE_HZ, Random(1), manner=EXACT), RATE_HZ)


BOTH = pytest.mark.parametrize("real", [False, pytest.param(True, marks=pytest.mark.recorded)])


@BOTH
def test_every_onset_is_found(real: bool) -> None:  # noqa: FBT001
    times = np.array(sorted({at for _, at, _ in NOTES}))
    found = np.array([onset.time_s for onset in heard(real=real).onsets])
    f_measure, _, _ = mir_eval.onset.f_measure(times, found, window=WINDOW_S)
    assert f_measure >= 0.95


@BOTH
def test_what_is_plucked_begins_and_what_rings_does_not(real: bool) -> None:  # noqa: FBT001
    evidence = heard(real=real)
    for midi, at_s in (*TUNE, *BASS):
        if (midi, at_s) != (67, 3.0):  # struck again while it sounds
            assert evidence.begins(at_s, midi) >= 0.09, (midi, at_s)
    for at_s in (1.5, 2.0):
        assert evidence.begins(at_s, 47) < 0.09
    assert evidence.begins(3.5, 40) < 0.09


@BOTH
def test_what_begins_instead_is_told(real: bool) -> None:  # noqa: FBT001
    evidence = heard(real=real)
    assert evidence.instead(1.5, 66) == 65
    assert evidence.instead(1.5, 65) is None
    assert evidence.instead(2.5, 65) is None
    assert evidence.near(2.5) is None


def test_a_detuned_guitar_is_heard_by_its_own_tuning() -> None:
    take = np.concatenate(
        [np.zeros(RATE_HZ // 2, np.float32), 0.3 * pluck(330.0 * 2 ** (0.4 / 12), 1.0, RATE_HZ)]
    )
    assert take_evidence(take, RATE_HZ).begins(0.5, 64) == 1.0


def test_nothing_begins_in_silence_and_stereo_is_refused() -> None:
    assert take_evidence(np.zeros(RATE_HZ, np.float32), RATE_HZ).beginnings == ()
    assert take_evidence(np.zeros(0, np.float32), RATE_HZ).beginnings == ()
    with pytest.raises(ValueError, match="channel"):
        take_evidence(np.zeros((9, 2), np.float32), RATE_HZ)
