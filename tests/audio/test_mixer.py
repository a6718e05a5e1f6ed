"""The mix: levels, fades, loops, and a ceiling that holds whatever comes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from coach.audio.limiter import CEILING_DB, Limiter
from coach.audio.mixer import FADE_OUT_S, BufferSource, Mixer
from coach.audio.resample import resampled
from tests.fakes import FakeClock, FakeOutput

RATE_HZ = 48_000
CEILING = 10 ** (CEILING_DB / 20)


def tone(hz: float, length_s: float, level: float = 0.3, rate_hz: int = RATE_HZ) -> NDArray[np.float32]:
    return (level * np.sin(2 * np.pi * hz * np.arange(round(length_s * rate_hz)) / rate_hz)).astype(
        np.float32
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 2_000), st.floats(0.0, 50.0)), max_size=12), st.integers(0, 9))
def test_the_limiter_holds_its_ceiling(blocks: list[tuple[int, float]], seed: int) -> None:
    rng = np.random.default_rng(seed)
    limiter = Limiter(RATE_HZ)
    for count, level in blocks:
        out = limiter.push((level * rng.standard_normal((count, 2))).astype(np.float32))
        assert out.shape == (count, 2)
        assert float(np.abs(out).max(initial=0.0)) <= CEILING * (1 + 1e-6)


def test_what_is_quiet_enough_passes_untouched_but_later() -> None:
    limiter = Limiter(RATE_HZ)
    sound = np.stack([tone(440, 0.2)] * 2, axis=1)
    out = np.concatenate([limiter.push(block) for block in np.split(sound, 10)])
    assert np.array_equal(out[limiter.delay :], sound[: -limiter.delay])


def test_a_loud_tone_keeps_its_shape() -> None:
    limiter = Limiter(RATE_HZ)
    sound = np.stack([tone(220, 1.0, level=2.0)] * 2, axis=1)
    out = np.concatenate([limiter.push(block) for block in np.split(sound, 100)])[RATE_HZ // 2 :, 0]
    spectrum = np.abs(np.fft.rfft(out * np.hanning(len(out))))
    peak = int(np.argmax(spectrum))
    rest = np.concatenate([spectrum[: peak - 4], spectrum[peak + 5 :]])
    assert 20 * np.log10(np.sqrt((rest**2).sum()) / spectrum[peak]) < -40


def test_two_sounds_add() -> None:
    clock = FakeClock()
    output = FakeOutput(RATE_HZ, clock)
    output.play(tone(440, 0.5, 0.2), RATE_HZ)
    output.play(tone(660, 0.5, 0.1), RATE_HZ, gain_db=-6.02)
    clock.sleep(0.3)
    part = output.heard[4_800:9_600, 0]
    spectrum = np.abs(np.fft.rfft(part)) / (len(part) / 2)
    assert spectrum[44] == pytest.approx(0.2, rel=0.02)
    assert spectrum[66] == pytest.approx(0.05, rel=0.02)


def test_position_runs_and_ends() -> None:
    clock = FakeClock()
    output = FakeOutput(RATE_HZ, clock)
    sound = output.play(tone(440, 0.5), RATE_HZ)
    clock.sleep(0.2)
    assert sound.playing
    assert output.sounding
    assert sound.position_s == pytest.approx(0.2, abs=0.011)
    clock.sleep(0.5)
    assert not sound.playing
    assert not output.sounding
    assert sound.position_s == pytest.approx(0.5, abs=0.001)


def test_stop_fades_within_30_ms() -> None:
    clock = FakeClock()
    output = FakeOutput(RATE_HZ, clock)
    sound = output.play(tone(440, 5.0), RATE_HZ)
    clock.sleep(0.2)
    sound.stop()
    clock.sleep(0.2)
    heard = output.heard[:, 0]
    assert FADE_OUT_S < 0.030
    assert not heard[round(0.25 * RATE_HZ) :].any()
    assert float(np.abs(np.diff(heard, 2)).max()) < 0.01
    assert not sound.playing


def test_silence_ends_everything() -> None:
    clock = FakeClock()
    output = FakeOutput(RATE_HZ, clock)
    sounds = [output.play(tone(440, 5.0), RATE_HZ, loop=loop) for loop in (False, True)]
    clock.sleep(0.1)
    output.silence()
    clock.sleep(0.1)
    assert not any(sound.playing for sound in sounds)


def test_a_loop_repeats_exactly_without_a_click() -> None:
    length = 10_007
    sound = np.stack([tone(233.3, length / RATE_HZ)] * 2, axis=1)
    source = BufferSource(sound, RATE_HZ, loop=True)
    played = np.concatenate([source.read(480) for _ in range(100)])[:, 0]
    second, third = played[length : 2 * length], played[2 * length : 3 * length]
    assert np.array_equal(second, third)
    assert np.array_equal(played[:length], sound[:, 0])
    steps = np.abs(np.diff(played))
    assert float(steps.max()) < 3 * float(np.abs(np.diff(sound[:, 0])).max())


def test_volume_can_change_without_a_step() -> None:
    mixer = Mixer(RATE_HZ)
    voice = mixer.add(
        BufferSource(np.ones((RATE_HZ, 2), np.float32) * 0.5, RATE_HZ, loop=False),
        gain_db=0.0, loop_s=None, heard_frames=lambda: mixer.made,
    )  # fmt: skip
    for _ in range(10):
        mixer.render(480)
    voice.set_gain(-20.0)
    sound = np.concatenate([mixer.render(480) for _ in range(4)])[:, 0]
    assert sound[-1] == pytest.approx(0.05, rel=0.01)
    assert float(np.abs(np.diff(sound)).max()) < 0.002


def test_the_volume_of_all_is_capped_and_changes_without_a_step() -> None:
    mixer = Mixer(RATE_HZ)
    mixer.add(
        BufferSource(np.ones((RATE_HZ, 2), np.float32) * 0.5, RATE_HZ, loop=False),
        gain_db=0.0, loop_s=None, heard_frames=lambda: mixer.made,
    )  # fmt: skip
    for _ in range(10):
        mixer.render(480)
    mixer.set_volume(-20.0)
    sound = np.concatenate([mixer.render(480) for _ in range(4)])[:, 0]
    assert sound[-1] == pytest.approx(0.05, rel=0.01)
    assert float(np.abs(np.diff(sound)).max()) < 0.002
    mixer.set_volume(30.0)
    assert np.concatenate([mixer.render(480) for _ in range(4)])[-1, 0] == pytest.approx(0.5, rel=0.01)


@pytest.mark.parametrize(("from_hz", "to_hz"), [(44_100, 48_000), (48_000, 44_100), (22_050, 48_000)])
def test_resampling_keeps_pitch_level_and_place(from_hz: int, to_hz: int) -> None:
    sound = tone(1_000, 1.7, rate_hz=from_hz)
    wanted = tone(1_000, 1.7, rate_hz=to_hz)
    here = resampled(sound, from_hz, to_hz)
    assert len(here) == len(wanted)
    inside = slice(2_000, -2_000)
    error = here[inside] - wanted[inside]
    assert 10 * np.log10(np.mean(error**2) / np.mean(wanted**2)) < -60


def test_resampling_removes_what_the_new_rate_cannot_hold() -> None:
    high = tone(15_000, 0.5, rate_hz=48_000)
    assert float(np.abs(resampled(high, 48_000, 22_050)[2_000:-2_000]).max()) < 1e-3
