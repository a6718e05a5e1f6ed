"""The decimator against the sine itself: a band-limited signal is the same at any rate (Shannon 1949)."""

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.hearing.decimate import Decimator
from coach.hearing.frames import RATE_HZ

TOLERANCE = 10 ** (-55 / 20)
"""The filter is designed for 60 dB; 5 dB are left for rounding and the ripple of a Kaiser window."""
RATES_HZ = (8_000, 11_025, 16_000, 22_050, 44_100, 44_101, 48_000, 96_000)


def sine(hz: float, rate_hz: int, length_s: float = 0.5) -> NDArray[np.float32]:
    return np.sin(2 * np.pi * hz * np.arange(round(length_s * rate_hz)) / rate_hz).astype(np.float32)


def through(decimator: Decimator, samples: NDArray[np.float32], block: int) -> NDArray[np.float32]:
    parts = [decimator.push(samples[i : i + block]) for i in range(0, len(samples), block)]
    return np.concatenate([*parts, decimator.flush()])


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("hz", [82.4, 440.0, 3_000.0])
def test_a_sine_stays_itself_and_in_its_place(rate_hz: int, hz: float) -> None:
    heard = through(Decimator(rate_hz), sine(hz, rate_hz), rate_hz // 100)
    assert len(heard) == round(0.5 * RATE_HZ)
    true = np.sin(2 * np.pi * hz * np.arange(len(heard)) / RATE_HZ)
    assert np.abs(heard - true)[200:-200].max() < 2 * TOLERANCE


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_what_would_alias_onto_notes_is_gone(rate_hz: int) -> None:
    for hz in (9_500.0, 12_000.0, 15_900.0):
        heard = through(Decimator(rate_hz), sine(hz, rate_hz), 480)
        assert np.abs(heard[200:-200]).max() < 2 * TOLERANCE


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_blocks_do_not_matter(rate_hz: int) -> None:
    samples = np.random.default_rng(1).standard_normal(rate_hz // 4).astype(np.float32)
    whole = through(Decimator(rate_hz), samples, len(samples))
    for block in (1_000, 77, 441):
        assert np.array_equal(through(Decimator(rate_hz), samples, block), whole)


def test_little_is_held_back() -> None:
    for rate_hz in (44_100, 48_000):
        decimator = Decimator(rate_hz)
        given = len(decimator.push(np.zeros(rate_hz, np.float32)))
        assert decimator.delay_s < 0.001
        assert given >= RATE_HZ - round(decimator.delay_s * RATE_HZ) - 1


def test_no_device_has_such_a_rate() -> None:
    for rate_hz in (0, 100, 1_000_000):
        with pytest.raises(ValueError, match="resample"):
            Decimator(rate_hz)
    with pytest.raises(ValueError, match="one channel"):
        Decimator(48_000).push(np.zeros((10, 2), np.float32))
