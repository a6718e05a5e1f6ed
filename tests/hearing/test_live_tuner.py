"""The tuner at a live microphone tells strings and nothing else."""

import numpy as np
import pytest

from coach.hearing.tuner.live_tuner import LiveTuner
from coach.hearing.tuner.tuner import Tuner, TunerReading
from tests import synth

RATE_HZ = 16_000
SOON_S = 0.4
"""A string is told this long after its pluck: a window of 256 ms and three readings."""
REFUSED_S = 1.0
CENT = 1.0
"""The bar on computed strings."""


def heard(sound: synth.Audio, tuner: LiveTuner) -> tuple[list[TunerReading], float]:
    """All readings that are told, and the longest time that something else was heard."""
    told: list[TunerReading] = []
    longest_s = 0.0
    for first in range(0, len(sound), 160):
        told += tuner.readings(sound[first : first + 160])
        longest_s = max(longest_s, tuner.other_s)
    return told, longest_s


def sung(f0_hz: float, vibrato_cents: float) -> synth.Audio:
    rng = np.random.default_rng(int(f0_hz))
    voice = synth.voice(f0_hz, 2.5, rate_hz=RATE_HZ, vibrato_cents=vibrato_cents, rng=rng)
    return np.concatenate([np.zeros(4_800, np.float32), voice])


@pytest.mark.parametrize("f0_hz", [110.0, 165.0, 247.0])
@pytest.mark.parametrize("vibrato_cents", [0.0, 25.0])
def test_a_voice_shows_no_string(f0_hz: float, vibrato_cents: float) -> None:
    told, longest_s = heard(sung(f0_hz, vibrato_cents), LiveTuner(Tuner()))
    assert told == []
    assert longest_s > REFUSED_S


def test_hum_of_the_mains_shows_no_string() -> None:
    time = np.arange(3 * RATE_HZ) / RATE_HZ
    hum = 0.01 * sum(np.sin(2 * np.pi * 50 * k * time + k) / k for k in (1, 2, 3, 4, 6))
    told, longest_s = heard(np.asarray(hum, np.float32), LiveTuner(Tuner()))
    assert told == []
    assert longest_s > REFUSED_S


@pytest.mark.parametrize("f0_hz", [82.41, 146.83, 329.63])  # E2, D3, E4: handbook values
def test_a_string_is_told_soon_and_for_as_long_as_it_rings(f0_hz: float) -> None:
    sound = synth.place([(0.5, synth.pluck(f0_hz, 2.0, rate_hz=RATE_HZ))], 2.5, rate_hz=RATE_HZ)
    told, longest_s = heard(sound, LiveTuner(Tuner()))
    assert told[0].at_s - 0.5 < SOON_S
    assert told[-1].at_s > 2.0
    assert longest_s < REFUSED_S / 2
    assert max(abs(reading.cents) for reading in told) < CENT


def test_a_string_after_a_voice_is_told_and_ends_the_refusal() -> None:
    tuner = LiveTuner(Tuner())
    heard(sung(165.0, 25.0), tuner)
    assert tuner.other_s > 0.0
    heard(np.zeros(RATE_HZ, np.float32), tuner)
    assert tuner.other_s == 0.0
    told, _ = heard(synth.pluck(110.0, 1.5, rate_hz=RATE_HZ), tuner)
    assert {reading.string for reading in told} == {5}
