"""Slowed sound: pitch by theory, attacks against the original, length, and nothing changed at full speed."""

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.audio.attacks import main_rise
from coach.audio.stretch import RubberStretcher
from coach.sessions.ports import Emphasis
from tests import synth

RATE_HZ = 44_100
CENTS = 1.0
"""Bar of this project; a fifth of the smallest pitch difference heard (5 cents, common practice)."""
RISE_TIMES = 3.0
PRE_ECHO_DB = 3.0
LENGTH_S = 0.005
NULL_DB = -100.0
SCRAPE_S = 0.014
"""So long before a string sounds a pick is heard on it, in a sampled bass."""
RISE_WITHIN = (0.5 / 110 + 0.0015) * RATE_HZ
"""Samples: half a period of the lowest string, whose first pulse comes so late, and half the window."""

SPEEDS = (0.4, 0.5, 0.6, 0.75, 0.9)


def tone(hz: float, length_s: float = 3.0) -> NDArray[np.float32]:
    time = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    return np.repeat((0.3 * np.sin(2 * np.pi * hz * time)).astype(np.float32)[:, None], 2, axis=1)


def measured_hz(sound: NDArray[np.float32]) -> float:
    """Frequency of the strongest partial: parabola through the peak of a log spectrum (Smith 1987)."""
    middle = sound[len(sound) // 4 : 3 * len(sound) // 4].astype(np.float64)
    size = 8 * len(middle)
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle)), size))
    peak = int(np.argmax(spectrum))
    low, top, high = np.log(spectrum[peak - 1 : peak + 2])
    return float((peak + 0.5 * (low - high) / (low - 2 * top + high)) * RATE_HZ / size)


def plucks() -> tuple[NDArray[np.float32], list[float]]:
    """Plucked notes over soft noise, and when they begin."""
    onsets = [0.5 + 0.4 * number for number in range(6)]
    parts = [
        (onset, synth.pluck(110 * 2 ** (number / 4), 0.38, rate_hz=RATE_HZ, decay_s=0.25))
        for number, onset in enumerate(onsets)
    ]
    sound = synth.place(parts, 3.2, rate_hz=RATE_HZ)
    sound += synth.pink_noise(3.2, rate_hz=RATE_HZ, rms=0.002)
    return np.stack([sound, sound], axis=1), onsets


def rise_s(sound: NDArray[np.float32], near_s: float) -> float:
    """Time from 10 to 90 % of the envelope's peak around an attack."""
    window = np.ones(44) / 44
    first = max(0, round((near_s - 0.08) * RATE_HZ))
    part = sound[first : round((near_s + 0.08) * RATE_HZ)].astype(np.float64)
    envelope = np.sqrt(np.convolve(part**2, window, "same"))
    high = int(np.argmax(envelope >= 0.9 * envelope.max()))
    low = high
    while low > 0 and envelope[low] > 0.1 * envelope.max():
        low -= 1
    return (high - low) / RATE_HZ


def level_before_db(sound: NDArray[np.float32], onset_s: float) -> float:
    """Level from 40 to 5 ms before an attack."""
    part = sound[round((onset_s - 0.040) * RATE_HZ) : round((onset_s - 0.005) * RATE_HZ)]
    return float(10 * np.log10(np.mean(part.astype(np.float64) ** 2)))


@pytest.mark.parametrize("best", [True, False])
@pytest.mark.parametrize("speed", SPEEDS)
def test_pitch_stays(speed: float, best: bool) -> None:  # noqa: FBT001
    slowed = RubberStretcher().render(tone(196.0), RATE_HZ, speed=speed, best=best)
    assert abs(1200 * np.log2(measured_hz(slowed[:, 0]) / 196.0)) < CENTS
    assert abs(len(slowed) - 3.0 * RATE_HZ / speed) < LENGTH_S * RATE_HZ


@pytest.mark.parametrize("shift", [-12.0, -0.3, 0.17, 5.0, 12.0])
def test_shift_follows_equal_temperament(shift: float) -> None:
    shifted = RubberStretcher().render(tone(196.0), RATE_HZ, shift_semitones=shift)
    wanted_hz = 196.0 * 2 ** (shift / 12)
    assert abs(1200 * np.log2(measured_hz(shifted[:, 0]) / wanted_hz)) < CENTS
    assert len(shifted) == round(3.0 * RATE_HZ)


@pytest.mark.parametrize("best", [True, False])
@pytest.mark.parametrize("speed", SPEEDS)
def test_attacks_stay_sharp_and_nothing_sounds_before_them(speed: float, best: bool) -> None:  # noqa: FBT001
    sound, onsets = plucks()
    slowed = RubberStretcher().render(sound, RATE_HZ, speed=speed, best=best)
    for onset in onsets:
        assert rise_s(slowed[:, 0], onset / speed) <= RISE_TIMES * rise_s(sound[:, 0], onset)
        louder_db = level_before_db(slowed[:, 0], onset / speed) - level_before_db(sound[:, 0], onset)
        assert louder_db <= PRE_ECHO_DB


def test_a_string_rises_after_the_scrape_of_its_pick() -> None:
    """What is put where it belongs is the string, not the scrape before it."""
    sound, onsets = plucks()
    rng = np.random.default_rng(3)
    count = round(SCRAPE_S * RATE_HZ)
    for onset in onsets:
        first = round((onset - SCRAPE_S) * RATE_HZ)
        assert main_rise(sound, round(onset * RATE_HZ), RATE_HZ) == pytest.approx(
            onset * RATE_HZ, abs=RISE_WITHIN
        )
        sound[first : first + count] += rng.normal(0, 0.002, count)[:, None]
        assert main_rise(sound, first, RATE_HZ) == pytest.approx(onset * RATE_HZ, abs=RISE_WITHIN)


def test_full_speed_without_shift_changes_nothing() -> None:
    sound, _ = plucks()
    rendered = RubberStretcher().render(sound, RATE_HZ)
    assert np.array_equal(rendered, sound)
    assert rendered is not sound


def test_mono_and_stereo_take_the_same_way() -> None:
    sound, _ = plucks()
    nearly = sound.copy()
    nearly[0, 1] += 1e-6
    mono = RubberStretcher().render(sound, RATE_HZ, speed=0.7)
    stereo = RubberStretcher().render(nearly, RATE_HZ, speed=0.7)
    assert np.allclose(mono, stereo, atol=1e-3)


@pytest.mark.parametrize("length", [0, 1, 7, 300])
def test_next_to_nothing_is_rendered(length: int) -> None:
    sound = np.full((length, 2), 0.1, np.float32)
    for emphasis in Emphasis:
        rendered = RubberStretcher().render(sound, RATE_HZ, speed=0.5, shift_semitones=2, emphasis=emphasis)
        assert rendered.shape == (round(length / 0.5), 2)


@pytest.mark.parametrize("speed", [0.0, 0.1, 5.0])
def test_speed_out_of_range_is_misuse(speed: float) -> None:
    with pytest.raises(ValueError, match="speed"):
        RubberStretcher().render(tone(196.0, 0.1), RATE_HZ, speed=speed)
