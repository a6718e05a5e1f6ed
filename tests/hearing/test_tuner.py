"""The tuner on computed stiff strings; their truth is Fletcher's formula, their B values are published ones.

Inharmonicity of guitar strings: 1e-5 to 2e-4 (Fletcher and Rossing, The Physics of Musical Instruments;
Järveläinen, Välimäki and Karjalainen 2001). Open strings: 82.41, 110.00, 146.83, 196.00, 246.94 and
329.63 Hz (handbook values of E2 A2 D3 G3 B3 E4 at A4 = 440 Hz).
"""

import numpy as np
import pytest

from coach.hearing.string_pitch import WINDOW_SAMPLES, string_pitch
from coach.hearing.tuned_strings import tune
from coach.hearing.tuner import Tuner, TunerReading
from coach.music.tuning_system import midi_to_hz
from tests import synth

OPEN_HZ = {6: 82.41, 5: 110.00, 4: 146.83, 3: 196.00, 2: 246.94, 1: 329.63}
STIFFNESS = {6: 1.3e-4, 5: 8e-5, 4: 5e-5, 3: 1.5e-4, 2: 6e-5, 1: 2e-5}
CENT = 1.0
"""The bar this tuner is held to on computed strings."""
HANDBOOK_CENTS = 0.1
"""Two decimals of a handbook frequency: 0.005 Hz are 0.1 cents at E2."""


def readings(f0_hz: float, stiffness: float, tuner: Tuner, length_s: float = 1.5) -> list[TunerReading]:
    sound = synth.pluck(f0_hz, length_s, rate_hz=16_000, inharmonicity=stiffness)
    found = [tuner.push(sound[i : i + 160]) for i in range(0, len(sound), 160)]
    return [reading for reading in found if reading is not None]


@pytest.mark.parametrize("string", [6, 5, 4, 3, 2, 1])
@pytest.mark.parametrize("off_cents", [-40.0, -7.3, 0.0, 2.5, 31.0])
def test_every_string_to_a_cent(string: int, off_cents: float) -> None:
    found = readings(OPEN_HZ[string] * 2 ** (off_cents / 1200), STIFFNESS[string], Tuner())
    assert {reading.string for reading in found} == {string}
    assert max(abs(reading.cents - off_cents) for reading in found[1:]) < CENT + HANDBOOK_CENTS
    assert found[-1].steady


def test_a_stiff_string_in_tune_is_not_called_sharp() -> None:
    for stiffness in (0.0, 1e-4, 2e-4, 2.9e-4):
        assert abs(readings(OPEN_HZ[6], stiffness, Tuner())[-1].cents) < CENT


def test_noise_costs_little() -> None:
    sound = synth.pluck(110.0, 1.5, rate_hz=16_000)
    sound += synth.pink_noise(1.5, rate_hz=16_000, rms=0.1 * float(np.sqrt(np.mean(sound**2))))
    found = Tuner().readings(sound)
    assert abs(np.median([reading.cents for reading in found])) < CENT


def test_in_tune_asks_for_half_a_second_within_the_limit() -> None:
    close = readings(OPEN_HZ[3] * 2 ** (4 / 1200), 1e-4, Tuner())
    first = next(reading for reading in close if reading.in_tune)
    assert first.at_s - close[0].at_s == pytest.approx(0.5, abs=0.07)
    choosy = readings(OPEN_HZ[3] * 2 ** (4 / 1200), 1e-4, Tuner(within_cents=2.0))
    assert not any(reading.in_tune for reading in choosy)


def test_a_locked_string_is_meant_however_slack() -> None:
    slack_hz = midi_to_hz(56.9)  # nearer to G3 than to B3
    assert readings(slack_hz, 5e-5, Tuner())[-1].string == 3
    locked = readings(slack_hz, 5e-5, Tuner(locked_string=2))[-1]
    assert (locked.string, locked.target_midi, locked.warn_over_tight) == (2, 59, False)
    assert locked.cents == pytest.approx(-210.0, abs=CENT)


def test_it_warns_before_a_string_is_wound_too_high() -> None:
    assert readings(midi_to_hz(61), 5e-5, Tuner(locked_string=2))[-1].warn_over_tight
    between = readings(midi_to_hz(48.2), 5e-5, Tuner())[-1]  # may be string 5, far too high
    assert (between.string, between.warn_over_tight) == (4, True)
    assert not readings(midi_to_hz(59.5), 5e-5, Tuner())[-1].warn_over_tight


def test_other_tunings_and_standards() -> None:
    dropped = Tuner((38, 45, 50, 55, 59, 64), a4_hz=415.0)
    reading = readings(midi_to_hz(38, 415.0), 1e-4, dropped)[-1]
    assert (reading.string, reading.target_midi) == (6, 38)
    assert abs(reading.cents) < CENT


def test_silence_and_noise_give_no_reading() -> None:
    assert Tuner().readings(np.zeros(16_000, np.float32)) == ()
    assert Tuner().readings(synth.pink_noise(2.0, rate_hz=16_000, rms=0.02)) == ()


def test_a_recording_of_six_strings_is_told_string_by_string() -> None:
    off = {6: -12.0, 5: 3.0, 4: 0.5, 3: -25.0, 2: 8.0, 1: 18.0}
    parts = [
        (0.3 + 1.5 * i, synth.pluck(OPEN_HZ[s] * 2 ** (off[s] / 1200), 1.3, inharmonicity=STIFFNESS[s]))
        for i, s in enumerate(off)
    ]
    found = tune(synth.place(parts, 10.0), synth.RATE_HZ)
    assert [string.string for string in found] == list(off)
    for string in found:
        assert string.cents == pytest.approx(off[string.string], abs=CENT + HANDBOOK_CENTS)
        assert string.steady


def test_misuse() -> None:
    with pytest.raises(ValueError, match="at least one string"):
        Tuner(())
    with pytest.raises(ValueError, match="no string 7"):
        Tuner(locked_string=7)


def test_a_pluck_is_told_by_its_first_second() -> None:
    """A string that sinks while it dies away is tuned to what is heard while it is loud."""
    time = np.arange(round(2.6 * 16_000)) / 16_000
    cents = np.where(time < 1.0, 0.0, -4.0)
    phase = 2 * np.pi * 110.0 * np.cumsum(2.0 ** (cents / 1200.0)) / 16_000
    tone = sum(np.sin(k * phase) / k for k in range(1, 9)) * np.exp(-time / 1.5)
    (string,) = tune(np.asarray(0.2 * tone, np.float32), 16_000)
    assert string.cents == pytest.approx(0.0, abs=CENT)


def test_a_bright_string_is_not_told_an_octave_too_low() -> None:
    """At 16 kHz the period of E4 is 48.54 samples: two periods fit whole samples better than one."""
    time = np.arange(WINDOW_SAMPLES) / 16_000
    tone = sum((0.3 if k < 6 else 1.0) * np.sin(2 * np.pi * k * 329.63 * time + k) for k in range(1, 13))
    found = string_pitch(np.asarray(0.05 * tone, np.float32))
    assert found is not None
    assert 1200 * abs(np.log2(found.f0_hz / 329.63)) < CENT
