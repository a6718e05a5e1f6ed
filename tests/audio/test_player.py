"""The player against the recording it plays: place, period, pitch, seams; no test waits for real time."""

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.audio.player import SectionPlayer
from coach.audio.resample import resampled
from coach.audio.stretch import RubberStretcher
from coach.errors import DeviceError
from coach.sessions.player_port import LoopPart, PlayerState
from coach.sessions.ports import Emphasis, StreamState
from coach.tones.prompt import PromptNote
from tests import synth
from tests.fakes import FakeClock, FakeOutput, MemoryCache

RATE_HZ = 44_100
DRIFT_S = 0.005
"""Bar of this project, over five loops."""
STEP_DB = 1.0
"""About the least step in loudness that is heard (from memory)."""
SEAM_TIMES = 3.0
"""A pure tone must change its phase at the seam; its second difference may grow this much, no click."""


class Bench:
    """A player with its world."""

    def __init__(self, sound: NDArray[np.float32], cache: MemoryCache | None = None) -> None:
        self.clock = FakeClock()
        self.output = FakeOutput(48_000, self.clock)
        self.cache = cache or MemoryCache()
        self.player = SectionPlayer(self.output, RubberStretcher(), self.cache, threaded=False)
        self.player.load(np.stack([sound, sound], axis=1), RATE_HZ, "recording")

    def render_all(self) -> int:
        """Do all rendering that waits; the number of pieces."""
        count = 0
        while self.player.work():
            count += 1
        return count

    def heard(self, seconds: float) -> NDArray[np.float32]:
        """Let time pass and give what was played in it, left channel."""
        before = len(self.output.heard)
        self.clock.sleep(seconds)
        return self.output.heard[before:, 0]


def tune(length_s: float = 6.0) -> NDArray[np.float32]:
    """Plucks on every half second, a different pitch each time."""
    parts = [
        (0.5 * number, synth.pluck(196.0 * 2 ** (number / 12), 0.48, rate_hz=RATE_HZ, decay_s=0.3))
        for number in range(int(length_s * 2))
    ]
    return synth.place(parts, length_s, rate_hz=RATE_HZ)


def period_s(sound: NDArray[np.float32], near_s: float, rate_hz: int) -> float:
    """Lag of the highest autocorrelation within 2 % of an expected period."""
    size = 1 << (2 * len(sound)).bit_length()
    spectrum = np.fft.rfft(sound, size)
    both = np.fft.irfft(np.abs(spectrum) ** 2)
    low, high = int(near_s * 0.98 * rate_hz), int(near_s * 1.02 * rate_hz)
    return (low + int(np.argmax(both[low:high]))) / rate_hz


@pytest.mark.parametrize("speed", [1.0, 0.65, 0.5])
def test_five_loops_do_not_drift(speed: float) -> None:
    bench = Bench(tune())
    bench.player.play(LoopPart(1.0, 3.0, speed=speed))
    bench.render_all()
    loop_s = 2.0 / speed
    bench.heard(loop_s)
    five_s = period_s(bench.heard(loop_s * 10), 5 * loop_s, 48_000)
    assert abs(five_s - 5 * loop_s) < DRIFT_S


@pytest.mark.parametrize("speed", [1.0, 0.6])
def test_seam_is_no_rougher_than_the_music(speed: float) -> None:
    time = np.arange(RATE_HZ * 4) / RATE_HZ
    bench = Bench((0.3 * np.sin(2 * np.pi * 233.3 * time)).astype(np.float32))
    bench.player.play(LoopPart(0.5, 2.0, speed=speed))
    bench.render_all()
    loop = round(1.5 / speed * 48_000)
    sound = bench.heard(1.5 / speed * 4)
    rough = np.abs(np.diff(sound, 2))
    steady = float(rough[loop // 2 : loop - 2_000].max())
    assert float(rough[loop // 2 :].max()) < SEAM_TIMES * steady
    levels = [float(np.sqrt(np.mean(part**2))) for part in np.split(sound[48_000 : 48_000 + 480 * 200], 200)]
    assert min(levels) > 0.3 * 0.3 / np.sqrt(2)


def test_quick_sound_begins_after_one_piece_and_the_best_takes_over() -> None:
    bench = Bench(tune(9.0))
    bench.player.play(LoopPart(0.0, 8.0, speed=0.5))
    assert bench.player.state is PlayerState.PREPARING
    assert bench.player.position_s is None
    bench.player.work()
    assert bench.player.state is PlayerState.PLAYING
    assert not bench.player.best
    assert bench.render_all() > 3
    bench.heard(0.1)
    assert bench.player.best
    assert len(bench.cache.kept) == 1


def test_best_rendering_comes_from_the_cache_next_time() -> None:
    first = Bench(tune())
    part = LoopPart(1.0, 3.0, speed=0.6)
    first.player.play(part)
    first.render_all()
    second = Bench(tune(), first.cache)
    second.player.play(part)
    assert second.player.best
    assert second.render_all() == 0
    first.heard(2.0)
    assert np.allclose(second.heard(2.0)[24_000:], first.output.heard[24_000:96_000, 0], atol=2e-3)


def test_a_new_speed_goes_on_at_the_same_place() -> None:
    bench = Bench(tune())
    bench.player.play(LoopPart(1.0, 4.0))
    bench.heard(1.5)
    assert bench.player.position_s == pytest.approx(2.5, abs=0.02)
    bench.player.play(LoopPart(1.0, 4.0, speed=0.5))
    assert bench.player.state is PlayerState.PLAYING
    bench.player.work()
    assert bench.player.position_s == pytest.approx(2.5, abs=0.02)
    bench.render_all()
    bench.heard(1.0)
    assert bench.player.position_s == pytest.approx(3.0, abs=0.02)


def test_the_same_part_again_changes_nothing_but_releases() -> None:
    bench = Bench(tune())
    bench.player.play(LoopPart(0.0, 3.0, speed=0.5))
    bench.player.work()
    bench.heard(1.0)
    bench.player.hold()
    bench.player.play(LoopPart(0.0, 3.0, speed=0.5))
    assert bench.player.state is PlayerState.PLAYING
    assert bench.player.position_s == pytest.approx(0.5, abs=0.02)


def test_a_whole_recording_as_it_is_starts_at_once_and_is_not_cached() -> None:
    bench = Bench(tune(10.0))
    bench.player.play(LoopPart(0.0, 10.0))
    assert bench.player.state is PlayerState.PLAYING
    bench.render_all()
    heard = bench.heard(9.9)
    assert not bench.cache.kept
    wanted = resampled(tune(10.0), RATE_HZ, 48_000)
    late = bench.output._mixer._limiter.delay
    assert np.allclose(heard[48_000 + late : 470_000], wanted[48_000 : 470_000 - late], atol=1e-3)


def test_position_goes_round() -> None:
    bench = Bench(tune())
    bench.player.play(LoopPart(1.0, 2.0))
    bench.heard(2.25)
    assert bench.player.position_s == pytest.approx(1.25, abs=0.02)


def test_a_held_moment_sounds_on_at_its_pitch() -> None:
    bench = Bench(tune())
    bench.player.play(LoopPart(0.0, 3.0, speed=0.5))
    bench.render_all()
    bench.heard(2.2)  # at 1.1 s of the recording: the third pluck
    bench.player.hold()
    assert bench.player.state is PlayerState.HOLDING
    bench.heard(0.2)
    sound = bench.heard(10.0)
    level = np.sqrt(np.mean(sound**2))
    late = sound[-48_000:]
    assert np.sqrt(np.mean(late**2)) == pytest.approx(level, rel=0.3)
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
    wanted_hz = 196.0 * 2 ** (2 / 12)
    around = np.arange(round(wanted_hz * 9.8), round(wanted_hz * 10.2))
    found_hz = around[np.argmax(spectrum[around])] / 10.0
    assert abs(1200 * np.log2(found_hz / wanted_hz)) < 3.0
    bench.player.release()
    bench.heard(0.1)
    assert bench.player.state is PlayerState.PLAYING
    assert bench.player.position_s == pytest.approx(1.15, abs=0.03)


def test_count_in_and_clicks_fall_on_their_places() -> None:
    bench = Bench(np.zeros(RATE_HZ * 4, np.float32) + 1e-9)
    beats = (1.0, 1.5, 2.0, 2.5)
    bench.player.play(LoopPart(1.0, 3.0, clicks_s=beats, accents_s=(1.0,), count_in_s=(0.5, 0.5, 0.5, 0.5)))
    assert bench.player.position_s is None
    sound = bench.heard(7.95)
    loud = np.flatnonzero(np.abs(sound) > 0.02)
    starts = loud[np.concatenate([[True], np.diff(loud) > 9_600])] / 48_000
    assert starts == pytest.approx(np.arange(16) * 0.5, abs=0.006)


def test_stop_fades_and_volume_is_capped() -> None:
    bench = Bench(tune())
    bench.player.play(LoopPart(0.0, 2.0))
    bench.heard(1.0)
    bench.player.set_volume(30.0)
    assert float(np.abs(bench.heard(1.0)).max()) <= 1.0
    bench.player.stop()
    assert bench.player.state is PlayerState.STOPPED
    bench.heard(0.1)
    assert float(np.abs(bench.heard(0.5)).max()) == 0.0


def test_a_lost_device_pauses_and_goes_on() -> None:
    bench = Bench(tune())
    bench.player.play(LoopPart(0.0, 3.0))
    bench.heard(1.0)
    bench.output.state_now = StreamState.LOST
    bench.heard(5.0)
    assert bench.player.state is PlayerState.LOST
    bench.output.state_now = StreamState.RUNNING
    bench.heard(0.5)
    assert bench.player.state is PlayerState.PLAYING
    assert bench.player.position_s == pytest.approx(1.5, abs=0.03)


def test_no_output_is_told() -> None:
    player = SectionPlayer(FakeOutput(missing=True), RubberStretcher(), MemoryCache(), threaded=False)
    player.load(np.zeros((RATE_HZ, 2), np.float32), RATE_HZ, "x")
    with pytest.raises(DeviceError, match="plug"):
        player.play(LoopPart(0.0, 1.0))


def test_thread_renders_by_itself_and_ends() -> None:
    bench = Bench(tune(2.0))
    player = SectionPlayer(bench.output, RubberStretcher(), bench.cache)
    player.load(np.stack([tune(2.0)] * 2, axis=1), RATE_HZ, "two")
    player.play(LoopPart(0.0, 1.0, speed=0.5))
    player._thread.join(0.01)
    for _ in range(500):
        bench.clock.sleep(0.02)
        if player.best:
            break
        player._closing.wait(0.02)
    assert player.best
    player.close()
    assert player._thread is None


def test_clicks_turned_on_are_heard_though_the_loop_was_rendered_before() -> None:
    bench = Bench(np.zeros(RATE_HZ * 4, np.float32))
    bench.player.play(LoopPart(1.0, 3.0, speed=0.5))
    bench.render_all()
    assert np.abs(bench.heard(4.0)).max() < 1e-6
    bench.player.play(LoopPart(1.0, 3.0, speed=0.5, clicks_s=(1.0, 2.0)))
    bench.render_all()
    assert np.abs(bench.heard(4.0)).max() > 0.03
    bench.player.play(LoopPart(1.0, 3.0, speed=0.5))
    bench.heard(0.1)
    assert np.abs(bench.heard(4.0)).max() < 1e-6


@pytest.mark.parametrize("speed", [1.0, 0.5])
def test_the_written_line_sounds_on_the_right_and_the_recording_on_the_left(speed: float) -> None:
    bench = Bench(tune())
    note = PromptNote(69, 1.5, 2.0)
    bench.player.play(LoopPart(1.0, 3.0, speed=speed, beside=(note, PromptNote(60, 3.5, 4.0))))
    bench.render_all()
    loop = round(2.0 / speed * 48_000)
    bench.heard(2.0 / speed)  # the first pass fades in, and may wait for its rendering
    bench.heard(2.0 / speed)
    start = len(bench.output.heard)
    bench.heard(2.0 / speed * 2)
    left, right = bench.output.heard[start:].T
    alone = Bench(tune())
    alone.player.play(LoopPart(1.0, 3.0, speed=speed))
    alone.render_all()
    for _ in range(2):
        alone.heard(2.0 / speed)
    recording = alone.heard(2.0 / speed * 2)
    assert np.corrcoef(left, recording)[0, 1] > 0.99
    # On the right the note alone, once a pass, on its place in the recording, at its pitch.
    sounding = np.flatnonzero(np.abs(right) > 0.02)
    onsets = sounding[np.flatnonzero(np.diff(sounding, prepend=-48_000) > 4_800)]
    assert len(onsets) == 2
    assert onsets[1] - onsets[0] == pytest.approx(loop, abs=48)
    first_s = (start + onsets[0]) / 48_000
    waited_s = bench.player._source.waited / 48_000
    assert (first_s - waited_s) % (2.0 / speed) == pytest.approx(0.5 / speed, abs=0.02)
    heard = right[onsets[0] + 2_400 : onsets[0] + 2_400 + 9_600]
    assert abs(np.argmax(np.abs(np.fft.rfft(heard * np.hanning(9_600), 48_000))) - 440.0) < 5.0


def test_emphasis_makes_no_steps_between_pieces() -> None:
    """A bass note that sounds on while the tune rests stays as loud: pieces are not levelled one by one."""
    time = np.arange(RATE_HZ * 10) / RATE_HZ
    bass = 0.2 * np.sin(2 * np.pi * 98.0 * time)
    rests = 0.25 * np.sin(2 * np.pi * 740.0 * time) * (time < 5.0)
    bench = Bench((bass + rests).astype(np.float32))
    bench.player.play(LoopPart(0.0, 10.0, speed=0.8, emphasis=Emphasis.MELODY))
    assert bench.render_all() > 3
    sound = bench.heard(12.5).astype(np.float64)
    levels = [bass_level_db(sound[round(48_000 * at) :][:9_600]) for at in np.arange(0.5, 12.0, 0.25)]
    beside, alone = np.median(levels[:20]), np.median(levels[-20:])
    assert abs(beside - alone) < STEP_DB


def bass_level_db(sound: NDArray[np.float64]) -> float:
    """Level of 98 Hz, by its Fourier coefficient."""
    time = np.arange(len(sound)) / 48_000
    window = np.hanning(len(sound))
    return float(20 * np.log10(abs(np.sum(window * sound * np.exp(-2j * np.pi * 98.0 * time))) + 1e-12))
