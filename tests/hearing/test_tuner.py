"""The tuner on computed stiff strings; their truth is Fletcher's formula, their B values are published ones.

Inharmonicity of guitar strings: 1e-5 to 2e-4 (Fletcher and Rossing, The Physics of Musical Instruments;
Järveläinen, Välimäki and Karjalainen 2001). Open strings: 82.41, 110.00, 146.83, 196.00, 246.94 and
329.63 Hz (handbook values of E2 A2 D3 G3 B3 E4 at A4 = 440 Hz).
"""

import numpy as np
import parselmouth
import pytest

from coach.hearing.tuner.string_pitch import WINDOW_SAMPLES, spectrum, string_pitch
from coach.hearing.tuner.tuned_strings import tune
from coach.hearing.tuner.tuner import Tuner, TunerReading
from coach.music.tuning_system import midi_to_hz
from tests import synth
from tests.soundfont import NYLON, STEEL, recorded

OPEN_HZ = {6: 82.41, 5: 110.00, 4: 146.83, 3: 196.00, 2: 246.94, 1: 329.63}
STIFFNESS = {6: 1.3e-4, 5: 8e-5, 4: 5e-5, 3: 1.5e-4, 2: 6e-5, 1: 2e-5}
CENT = 1.0
"""The bar this tuner is held to on computed strings."""
RECORDED_CENTS = 2.0
"""The bar on recorded strings."""
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
    found = string_pitch(spectrum(np.asarray(0.05 * tone, np.float32)))
    assert found is not None
    assert 1200 * abs(np.log2(found.f0_hz / 329.63)) < CENT


def test_all_strings_ringing_on_are_told_one_by_one() -> None:
    """Plucked in any order 0.8 s apart and never damped."""
    off = {3: -25.0, 6: -12.0, 1: 18.0, 5: 3.0, 2: 8.0, 4: 0.5}
    parts = [
        (0.3 + 0.8 * i, synth.pluck(OPEN_HZ[s] * 2 ** (off[s] / 1200), 4.0, inharmonicity=STIFFNESS[s]))
        for i, s in enumerate(off)
    ]
    found = tune(synth.place(parts, 7.0), synth.RATE_HZ)
    assert [string.string for string in found] == list(off)
    for string in found:
        assert string.cents == pytest.approx(off[string.string], abs=CENT + HANDBOOK_CENTS)


def test_one_string_plucked_twice_is_told_twice_and_a_knock_is_no_pluck() -> None:
    first, second = (synth.pluck(OPEN_HZ[4] * 2 ** (c / 1200), 3.0, inharmonicity=5e-5) for c in (-9.0, 4.0))
    twice = tune(synth.place([(0.3, first[:72_000]), (1.8, second)], 4.5), synth.RATE_HZ)
    assert [string.string for string in twice] == [4, 4]
    assert [string.cents for string in twice] == pytest.approx([-9.0, 4.0], abs=CENT + HANDBOOK_CENTS)
    assert 0.5 < twice[0].at_s < 1.8 < twice[1].at_s
    knocked = tune(synth.place([(0.3, first), (1.5, synth.tap(level=0.15))], 4.0), synth.RATE_HZ)
    assert [string.string for string in knocked] == [4]


@pytest.mark.parametrize("decay_s", [1.0, 1.9])
def test_what_rings_on_under_a_string_neither_pulls_at_it_nor_is_told_again(decay_s: float) -> None:
    """With D2 as the lowest string all partials of D3 lie beside its own, and it outlives D3."""
    low = synth.pluck(OPEN_HZ[4] / 2 * 2 ** (5 / 1200), 5.0, inharmonicity=8e-5, decay_s=decay_s, level=0.4)
    top = synth.pluck(OPEN_HZ[1], 5.0, inharmonicity=2e-5, decay_s=1.5)
    high = synth.pluck(OPEN_HZ[4] * 2 ** (-21 / 1200), 3.0, decay_s=0.6, place=0.1)
    sound = synth.place([(0.3, low), (1.5, top), (2.7, high)], 5.5)
    found = tune(sound, synth.RATE_HZ, tuning=(38, 45, 50, 55, 59, 64))
    assert [string.string for string in found] == [6, 1, 4]
    assert [string.cents for string in found] == pytest.approx([5.0, 0.0, -21.0], abs=CENT + HANDBOOK_CENTS)


def test_a_string_turned_a_little_between_plucks_is_told_each_time() -> None:
    """Also where each pluck is softer than the one before."""
    plucks = [
        synth.pluck(OPEN_HZ[4] * 2 ** (cents / 1200), 0.82, inharmonicity=5e-5, decay_s=1.5, level=level)
        for cents, level in ((-36.0, 0.35), (-16.0, 0.25), (4.0, 0.2))
    ]
    found = tune(synth.place([(0.4 + 0.8 * i, each) for i, each in enumerate(plucks)], 3.8), synth.RATE_HZ)
    assert [string.cents for string in found] == pytest.approx([-36.0, -16.0, 4.0], abs=CENT + HANDBOOK_CENTS)


@pytest.mark.parametrize("string", [6, 5, 4, 3, 2, 1])
def test_a_small_microphone_and_noise_change_little(string: int) -> None:
    """No sound below 250 Hz, where the fundamentals of four strings lie, and noise 15 dB under the string."""
    sound = synth.pluck(OPEN_HZ[string] * 2 ** (6 / 1200), 2.5, inharmonicity=STIFFNESS[string])
    spectrum = np.fft.rfft(sound)
    hz = np.fft.rfftfreq(len(sound), 1 / synth.RATE_HZ)
    thin = np.fft.irfft(spectrum / np.sqrt(1 + (250 / np.maximum(hz, 1)) ** 4), len(sound))
    thin += synth.pink_noise(2.5, rms=10 ** (-15 / 20) * float(np.sqrt(np.mean(thin**2))))
    (found,) = tune(np.asarray(np.concatenate([np.zeros(9_600), thin]), np.float32), synth.RATE_HZ)
    assert found.string == string
    assert found.cents == pytest.approx(6.0, abs=CENT + HANDBOOK_CENTS)


def test_a_voice_and_noise_are_no_strings() -> None:
    rng = np.random.default_rng(8)
    for f0_hz in (110.0, 165.0, 247.0):
        assert tune(synth.voice(f0_hz, 2.5, vibrato_cents=25.0, rng=rng), synth.RATE_HZ) == ()
        assert tune(synth.voice(f0_hz, 2.5, vibrato_cents=0.0, rng=rng), synth.RATE_HZ) == ()
    assert tune(synth.pink_noise(3.0, rms=0.05), synth.RATE_HZ) == ()
    time = np.arange(3 * synth.RATE_HZ) / synth.RATE_HZ
    hum = 0.01 * sum(np.sin(2 * np.pi * 50 * k * time + k) / k for k in (1, 2, 3, 4, 6))
    assert tune(np.asarray(hum, np.float32), synth.RATE_HZ) == ()


def test_a_string_whose_microphone_evens_out_levels_is_still_one() -> None:
    """Automatic gain holds the tone at one level: its fast attack tells the string."""
    sound = synth.pluck(OPEN_HZ[5], 2.0, inharmonicity=8e-5).astype(np.float64)
    level = np.sqrt(np.convolve(sound**2, np.ones(4_800) / 4_800, "same"))
    even = np.concatenate([np.zeros(14_400), 0.1 * sound / np.maximum(level, 1e-4)])
    (found,) = tune(np.asarray(even, np.float32), synth.RATE_HZ)
    assert (found.string, found.steady) == (5, True)
    assert abs(found.cents) < CENT + HANDBOOK_CENTS


def in_praat_cents(sound: np.ndarray, f0_hz: float) -> float:
    """Median of Praat's pitch of the lowest five partials, cents over ``f0_hz``.

    Higher partials of steel strings lie up to 30 cents high (Fletcher's formula), and pull its pitch along.
    """
    spectrum = np.fft.rfft(sound)
    spectrum[round(5.5 * f0_hz * len(sound) / synth.RATE_HZ) :] = 0.0
    low = parselmouth.Sound(np.fft.irfft(spectrum, len(sound)), synth.RATE_HZ).resample(8_000)
    pitch = low.to_pitch_cc(time_step=0.01, pitch_floor=0.7 * f0_hz, pitch_ceiling=1.5 * f0_hz)
    hz = pitch.selected_array["frequency"]
    return float(np.median(1200 * np.log2(hz[hz > 0] / f0_hz)))


@pytest.mark.recorded
@pytest.mark.parametrize("program", [NYLON, STEEL])
@pytest.mark.parametrize("midi", [40, 45, 50, 55, 59, 64])
def test_recorded_strings_agree_with_praat(program: int, midi: int) -> None:
    """Each alone: what else rings pulls Praat's pitch of the mix."""
    sound = recorded([(midi, 0.5, 2.2)], program=program)
    (found,) = tune(sound, synth.RATE_HZ)
    sustained = sound[round(0.8 * synth.RATE_HZ) : round(2.0 * synth.RATE_HZ)]
    assert found.target_midi == midi
    assert found.cents == pytest.approx(in_praat_cents(sustained, midi_to_hz(midi)), abs=RECORDED_CENTS)


@pytest.mark.recorded
def test_recorded_strings_ringing_on_are_told_one_by_one() -> None:
    midis = (64, 45, 59, 40, 55, 50)
    sound = recorded([(midi, 0.5 + 1.5 * i, 3.5 + 1.5 * i) for i, midi in enumerate(midis)], program=STEEL)
    assert [string.target_midi for string in tune(sound, synth.RATE_HZ)] == list(midis)
