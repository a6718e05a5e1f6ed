"""The ensemble: the recording is the parts, a little human, detuned as told."""

import math
from random import Random

import numpy as np
import parselmouth
import pytest

from coach.tones.ensemble import EnsembleManner, humanised, recording
from coach.tones.prompt import Part, PromptNote, Timbre

TUNE = Part("tune", Timbre.REED, tuple(PromptNote(62 + i, 0.7 * i, 0.7 * i + 0.6) for i in range(6)))
RATE_HZ = 44_100


@pytest.mark.parametrize("cents", [-20.0, 0.0, 12.0])
def test_all_players_are_detuned_together(cents: float) -> None:
    manner = EnsembleManner(detune_cents=cents, timing_s=0.0, sway=0.0)
    samples = recording([TUNE], RATE_HZ, Random(1), manner=manner).mean(axis=1)
    for note in TUNE.notes:
        part = samples[round((note.start_s + 0.1) * RATE_HZ) : round((note.end_s - 0.06) * RATE_HZ)]
        hz = 440.0 * 2 ** ((note.midi - 69) / 12)
        pitch = parselmouth.Sound(part.astype(np.float64), RATE_HZ).to_pitch_ac(
            pitch_floor=hz * 0.8, pitch_ceiling=hz * 1.3
        )
        found = pitch.selected_array["frequency"]
        assert 1200 * math.log2(float(np.median(found[found > 0])) / hz) == pytest.approx(cents, abs=3.0)


def test_players_are_human_but_in_order() -> None:
    played = humanised([TUNE], Random(5))[0].notes
    assert [note.midi for note in played] == [note.midi for note in TUNE.notes]
    starts = [note.start_s for note in played]
    assert starts == sorted(starts)
    assert starts[0] > 0.2
    gaps = np.diff(starts)
    assert 0.001 < float(np.std(gaps)) < 0.05
    assert float(np.mean(gaps)) == pytest.approx(0.7, rel=0.05)


def test_the_recording_is_the_same_every_time_and_not_clipped() -> None:
    first = recording(humanised([TUNE], Random(2)), RATE_HZ, Random(3))
    again = recording(humanised([TUNE], Random(2)), RATE_HZ, Random(3))
    assert np.array_equal(first, again)
    assert first.shape[1] == 2
    assert float(np.abs(first).max()) <= 10 ** (-6 / 20)
