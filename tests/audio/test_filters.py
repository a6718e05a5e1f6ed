"""Emphasis: what gets louder against what, at equal loudness; K weighting against its published curve."""

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.audio.filters import loudness
from coach.audio.stretch import RubberStretcher
from coach.sessions.ports import Emphasis

RATE_HZ = 48_000
BASS_HZ, TUNE_HZ = 98.0, 659.26
LOUDNESS_DB = 0.5
"""Half of the smallest change of level that is heard (1 dB, common practice, no source)."""


def mix(*, side: bool = False) -> NDArray[np.float32]:
    """A bass and a tune, equally strong; with ``side`` also a tone at the left only."""
    time = np.arange(3 * RATE_HZ) / RATE_HZ
    middle = 0.2 * np.sin(2 * np.pi * BASS_HZ * time) + 0.2 * np.sin(2 * np.pi * TUNE_HZ * time)
    left = 0.2 * np.sin(2 * np.pi * 1_400.0 * time) if side else 0.0
    return np.stack([middle + left, middle], axis=1).astype(np.float32)


def level_db(sound: NDArray[np.float32], hz: float) -> float:
    part = sound[RATE_HZ : 2 * RATE_HZ].mean(axis=1)
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part))))
    return float(20 * np.log10(spectrum[round(hz) - 3 : round(hz) + 4].max() + 1e-9))


def rendered(emphasis: Emphasis, *, side: bool = False) -> NDArray[np.float32]:
    return RubberStretcher().render(mix(side=side), RATE_HZ, emphasis=emphasis)


@pytest.mark.parametrize(
    ("emphasis", "louder_hz", "softer_hz"),
    [(Emphasis.MELODY, TUNE_HZ, BASS_HZ), (Emphasis.BASS, BASS_HZ, TUNE_HZ)],
)
def test_one_part_comes_forward(emphasis: Emphasis, louder_hz: float, softer_hz: float) -> None:
    sound = rendered(emphasis)
    assert level_db(sound, louder_hz) - level_db(sound, softer_hz) > 10.0


def test_raised_bass_sounds_an_octave_higher() -> None:
    sound = rendered(Emphasis.BASS_RAISED)
    assert level_db(sound, 2 * BASS_HZ) > level_db(sound, BASS_HZ) + 6.0
    assert level_db(sound, 2 * BASS_HZ) > level_db(sound, 2 * TUNE_HZ) + 20.0


def test_the_tune_in_the_middle_is_preferred_to_the_sides() -> None:
    before = level_db(mix(side=True), TUNE_HZ) - level_db(mix(side=True), 1_400.0)
    after = rendered(Emphasis.MELODY, side=True)
    left = after[RATE_HZ : 2 * RATE_HZ, 0] - after[RATE_HZ : 2 * RATE_HZ, 1]
    assert before < 7.0
    assert 20 * np.log10(np.sqrt(np.mean(left**2)) / (0.2 / np.sqrt(2))) < 0.0


@pytest.mark.parametrize("emphasis", list(Emphasis))
def test_loudness_stays(emphasis: Emphasis) -> None:
    ratio = loudness(rendered(emphasis), RATE_HZ) / loudness(mix(), RATE_HZ)
    assert abs(10 * np.log10(ratio)) < LOUDNESS_DB


def test_a_full_scale_tone_has_the_loudness_of_the_standard() -> None:
    # ITU-R BS.1770-4, annex 1: a 0 dBFS, 997 Hz sine in one front channel reads -3.01 LKFS.
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    sound = np.stack([np.sin(2 * np.pi * 997.0 * time), np.zeros_like(time)], axis=1).astype(np.float32)
    assert -0.691 + 10 * np.log10(loudness(sound, RATE_HZ)) == pytest.approx(-3.01, abs=0.1)


def test_nothing_goes_over_full_scale() -> None:
    for emphasis in (Emphasis.MELODY, Emphasis.BASS, Emphasis.BASS_RAISED):
        loud = RubberStretcher().render(mix() * 2.4, RATE_HZ, emphasis=emphasis)
        assert float(np.abs(loud).max()) <= 1.0


def test_silence_stays_silence() -> None:
    quiet = np.zeros((RATE_HZ, 2), np.float32)
    for emphasis in Emphasis:
        assert not RubberStretcher().render(quiet, RATE_HZ, emphasis=emphasis, speed=0.7).any()


@pytest.mark.parametrize("emphasis", list(Emphasis))
def test_the_gain_of_a_whole_keeps_its_loudness(emphasis: Emphasis) -> None:
    stretcher = RubberStretcher()
    gain = stretcher.gain_of(mix(), RATE_HZ, emphasis)
    sound = stretcher.render(mix(), RATE_HZ, emphasis=emphasis, gain=gain)
    assert 10 * np.log10(loudness(sound, RATE_HZ) / loudness(mix(), RATE_HZ)) == pytest.approx(0.0, abs=0.5)
