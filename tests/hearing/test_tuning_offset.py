"""The tuning offset of whole recordings: sounds whose pitch is known by how they are computed."""

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.hearing.tuning_offset import tuning_offset

RATE_HZ = 22_050
MOST_CENTS = 5.0
"""The bar that was set for the worst recording."""
TUNE = (67, 69, 71, 72, 74, 72, 71, 67)
BASS = (43, 48, 50, 43)


def partials(
    midi: float, length_s: float, bend_cents: NDArray[np.float64] | float, stiffness: float
) -> NDArray:
    """Twelve partials of a string: n f0 sqrt(1 + B n²) (Fletcher 1964)."""
    time = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    hz = 440.0 * 2.0 ** ((midi - 69 + np.zeros(len(time)) + bend_cents / 100.0) / 12)
    phase = 2 * np.pi * np.cumsum(hz) / RATE_HZ
    return sum(np.sin(n * np.sqrt(1 + stiffness * n * n) * phase + n) / n for n in range(1, 13))


def sung(midi: float, length_s: float, depth_cents: float) -> NDArray:
    """A voice that scoops into the note and wavers about it 5.5 times a second."""
    time = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    bend = depth_cents * np.sin(2 * np.pi * 5.5 * time) - 120.0 * np.exp(-time / 0.06)
    return partials(midi, length_s, bend, 0.0) * np.minimum(1.0, time / 0.05)


def struck(midi: float, length_s: float, stiffness: float) -> NDArray:
    time = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    return partials(midi, length_s, 0.0, stiffness) * np.exp(-time / 0.6)


def recording(cents: float, *, voice: float, depth_cents: float, stiffness: float) -> NDArray[np.float32]:
    tune = np.concatenate([sung(midi + cents / 100, 0.6, depth_cents) for midi in TUNE])
    bass = np.concatenate([struck(midi + cents / 100, 1.2, stiffness) for midi in BASS])
    return np.asarray(0.2 * (voice * tune + bass), np.float32)


@pytest.mark.parametrize("cents", [-48.0, -21.0, 3.0, 37.0])
def test_a_voice_that_wavers_over_stiff_strings_does_not_hide_the_tuning(cents: float) -> None:
    sound = recording(cents, voice=1.5, depth_cents=50.0, stiffness=3e-4)
    off = (tuning_offset(sound, RATE_HZ) - cents + 50) % 100 - 50
    assert abs(off) <= MOST_CENTS


def test_it_does_not_depend_on_loudness_or_rate() -> None:
    sound = recording(12.0, voice=0.5, depth_cents=20.0, stiffness=1e-4)
    assert tuning_offset(sound * np.float32(0.01), RATE_HZ) == pytest.approx(
        tuning_offset(sound, RATE_HZ), abs=0.5
    )
    # The same samples said to be 1 % faster sound 1200 log2(1.01) = 17.2 cents higher.
    higher = tuning_offset(sound, RATE_HZ * 1.01) - tuning_offset(sound, RATE_HZ)
    assert higher == pytest.approx(1200 * np.log2(1.01), abs=1.0)


def test_noise_alone_gives_some_offset_and_no_error() -> None:
    noise = np.random.default_rng(1).normal(0, 0.1, RATE_HZ).astype(np.float32)
    assert -50.0 <= tuning_offset(noise, RATE_HZ) <= 50.0
