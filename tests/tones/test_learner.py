"""The simulated player errs like a person, and by its own random numbers only."""

import math
from itertools import pairwise
from random import Random

import numpy as np
import parselmouth
import pytest

from coach.tones.learner import EXACT, Manner, clapped, plucked, sung
from coach.tones.prompt import PromptNote

NOTES = [PromptNote(57 + step, 0.6 * i, 0.6 * i + 0.55) for i, step in enumerate((0, 2, 4, 5))]


def _praat_cents(samples: np.ndarray, rate_hz: int, note: PromptNote) -> float:
    middle = samples[round((note.start_s + 0.2) * rate_hz) : round((note.end_s - 0.08) * rate_hz)]
    hz = 440.0 * 2 ** ((note.midi - 69) / 12)
    pitch = parselmouth.Sound(middle.astype(np.float64), rate_hz).to_pitch_ac(
        pitch_floor=hz * 0.7, pitch_ceiling=hz * 1.4
    )
    found = pitch.selected_array["frequency"]
    return 1200 * math.log2(float(np.median(found[found > 0])) / hz)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
@pytest.mark.parametrize("take", [sung, plucked])
def test_an_exact_player_is_in_tune(take: object, rate_hz: int) -> None:
    samples = take(NOTES, rate_hz, Random(1), manner=EXACT)  # type: ignore[operator]
    assert all(abs(_praat_cents(samples, rate_hz, note)) < 3.0 for note in NOTES)


def test_a_human_singer_is_off_but_on_the_right_note() -> None:
    cents = [
        _praat_cents(sung(NOTES, 44_100, Random(seed)), 44_100, note) for seed in range(12) for note in NOTES
    ]
    assert all(abs(value) < 45.0 for value in cents)
    assert 4.0 < float(np.std(cents)) < 20.0


def test_the_same_seed_gives_the_same_take() -> None:
    for take in (sung, plucked):
        assert np.array_equal(take(NOTES, 44_100, Random(7)), take(NOTES, 44_100, Random(7)))
        assert not np.array_equal(take(NOTES, 44_100, Random(7)), take(NOTES, 44_100, Random(8)))


def test_takes_are_not_clipped_and_are_as_long_as_their_notes() -> None:
    for take in (sung, plucked):
        samples = take(NOTES, 44_100, Random(3))
        assert 0.3 <= float(np.abs(samples).max()) <= 0.36
        assert len(samples) > round(44_100 * NOTES[-1].end_s)


def test_claps_come_at_their_times() -> None:
    samples = clapped([0.2, 0.7, 1.0], 48_000, Random(1), manner=Manner(timing_s=0.0))
    loud = np.flatnonzero(np.abs(samples) > 0.05) / 48_000
    starts = [loud[0], *(b for a, b in pairwise(loud) if b - a > 0.1)]
    assert starts == pytest.approx([0.2, 0.7, 1.0], abs=0.005)
