"""Attacks found where they were put, and none where sounds only swell or beat."""

import numpy as np
import pytest

from coach.audio.attacks import find_attacks
from tests import synth

RATE_HZ = 44_100
NEAR_S = 0.006
"""Three times the rise of the computed plucks: a cut this near leaves the attack whole."""


def stereo(sound: np.ndarray) -> np.ndarray:
    return np.stack([sound, sound], axis=1).astype(np.float32)


def found_s(sound: np.ndarray) -> list[float]:
    return [float(at) / RATE_HZ for at in find_attacks(stereo(sound), RATE_HZ)]


def test_plucks_are_found_where_they_begin() -> None:
    onsets = [0.4 + 0.3 * number for number in range(9)]
    parts = [
        (onset, synth.pluck(82.4 * 2 ** (number / 3), 1.0, rate_hz=RATE_HZ))
        for number, onset in enumerate(onsets)
    ]
    found = found_s(synth.place(parts, 4.5, rate_hz=RATE_HZ))
    assert found == pytest.approx(onsets, abs=NEAR_S)


def test_a_pluck_is_found_over_a_loud_bass() -> None:
    bass = 0.4 * np.sin(2 * np.pi * 98.0 * np.arange(3 * RATE_HZ) / RATE_HZ)
    tune = synth.place([(1.0, synth.pluck(440.0, 1.0, rate_hz=RATE_HZ, level=0.1))], 3.0, rate_hz=RATE_HZ)
    assert found_s(bass + tune)[-1] == pytest.approx(1.0, abs=NEAR_S)


@pytest.mark.parametrize("pair_hz", [(110.0, 116.54), (110.0, 123.47), (196.0, 220.0), (82.41, 164.81)])
def test_beats_between_held_notes_are_no_attacks(pair_hz: tuple[float, float]) -> None:
    time = np.arange(3 * RATE_HZ) / RATE_HZ
    sound = sum(0.2 * np.sin(2 * np.pi * hz * time) for hz in pair_hz)
    assert [at for at in found_s(sound) if at > 0.01] == []


@pytest.mark.parametrize("hz", [110.0, 220.0, 440.0])
def test_a_voice_with_vibrato_has_no_attacks(hz: float) -> None:
    sound = synth.voice(hz, 3.0, rate_hz=RATE_HZ, rng=np.random.default_rng(3))
    assert [at for at in found_s(sound) if at > 0.05] == []


@pytest.mark.parametrize("length", [0, 1, 60, 140, 1_000])
def test_next_to_nothing_has_no_attacks(length: int) -> None:
    assert all(0 <= at < max(1, length) for at in find_attacks(np.zeros((length, 2), np.float32), RATE_HZ))
