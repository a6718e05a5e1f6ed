"""Microphone, speaker and their watchdog on a sound system of paper: devices die and come back at will."""

from dataclasses import dataclass, field

import numpy as np
import pytest

from coach.audio.streams import PortAudioCatalog, portaudio
from coach.audio.streams.kept import KeptStream
from coach.audio.streams.system import Arrives, LiveStream, Wants
from coach.errors import DeviceError
from coach.sessions.ports import SoundDevice, StreamState

BOTH = SoundDevice(3, "both", 2, 2, 48_000, True, True)
OTHER = SoundDevice(4, "other", 1, 1, 44_100, False, False)


@dataclass
class PaperStream:
    system: "PaperSystem"
    time_s: float = 0.0
    latency_s: float = 0.05
    closed: bool = False

    def close(self) -> None:
        self.closed = True


@dataclass
class PaperSystem:
    """A `SoundSystem` whose callbacks the test calls itself."""

    listed: tuple[SoundDevice, ...] = (BOTH, OTHER)
    refused_rates: tuple[int, ...] = ()
    opened: list[SoundDevice] = field(default_factory=list)
    streams: list[PaperStream] = field(default_factory=list)
    arrives: Arrives | None = None
    wants: Wants | None = None
    refreshed: int = 0

    def devices(self) -> tuple[SoundDevice, ...]:
        return self.listed

    def refresh(self) -> None:
        self.refreshed += 1

    def open_input(self, device: SoundDevice, arrives: Arrives) -> LiveStream:
        self.arrives = arrives
        return self._open(device)

    def open_output(self, device: SoundDevice, channels: int, wants: Wants) -> LiveStream:
        self.wants = wants
        return self._open(device)

    def _open(self, device: SoundDevice) -> PaperStream:
        if device.rate_hz in self.refused_rates or device.name not in {each.name for each in self.listed}:
            raise DeviceError("It cannot be opened.")
        self.opened.append(device)
        self.streams.append(PaperStream(self))
        return self.streams[-1]

    def hear(self, count: int, value: float = 0.1, at_s: float = 0.0) -> None:
        assert self.arrives is not None
        self.arrives(np.full((count, 1), value, np.float32), at_s)

    def ask(self, count: int, channels: int = 2) -> np.ndarray:
        assert self.wants is not None
        out = np.full((count, channels), 9.0, np.float32)
        self.wants(out, 0.0, False)
        return out


@dataclass
class Time:
    now_s: float = 100.0

    def __call__(self) -> float:
        return self.now_s


def test_blocks_are_taken_once_in_order_and_drawn_any_time() -> None:
    system = PaperSystem()
    microphone = PortAudioCatalog(system).input()
    microphone.open()
    assert microphone.rate_hz == 48_000
    assert microphone.take() is None
    system.hear(480, 0.1)
    system.hear(480, 0.2)
    block = microphone.take()
    assert block is not None
    assert (block.first, len(block.samples)) == (0, 960)
    system.hear(480, 0.3)
    block = microphone.take()
    assert block is not None
    assert block.first == 960
    assert np.allclose(microphone.recent(500)[:20], 0.2)
    microphone.close()
    assert system.streams[0].closed
    assert microphone.state is StreamState.CLOSED


def test_capture_times_follow_the_cards_clock() -> None:
    system = PaperSystem()
    microphone = PortAudioCatalog(system).input()
    microphone.open()
    rng = np.random.default_rng(1)
    for number in range(100):
        system.hear(480, at_s=50.0 + number * 0.01 + rng.normal(0.0, 0.002))
    block = microphone.take()
    offset_s = microphone._kept.offset_s
    microphone.close()
    assert block is not None
    assert block.captured_s - offset_s == pytest.approx(50.0, abs=0.001)


def kept(system: PaperSystem, time: Time, counter: list[int]) -> KeptStream:
    choose = PortAudioCatalog(system)._chooser(None, inputs=True)
    begin = lambda device: system.open_input(device, lambda _block, _at_s: None)  # noqa: E731
    return KeptStream(system, choose, begin, lambda: counter[0], time)


def test_a_dead_stream_is_opened_again_at_its_rate() -> None:
    system, time, counter = PaperSystem(), Time(), [0]
    stream = kept(system, time, counter)
    stream.open(watched=False)
    assert stream.state is StreamState.WAITING
    counter[0] = 1
    stream.look()
    assert stream.state is StreamState.RUNNING
    time.now_s += 1.5
    stream.look()
    assert stream.state is StreamState.LOST
    assert system.streams[0].closed
    assert system.refreshed == 1
    assert len(system.streams) == 2
    counter[0] = 2
    time.now_s += 0.5
    stream.look()
    assert stream.state is StreamState.RUNNING
    stream.close()


@pytest.mark.parametrize(
    ("waits_s", "state"), [((3.0,), StreamState.RUNNING), ((0.1,) * 30, StreamState.LOST)]
)
def test_only_quiet_while_the_program_runs_counts_against_a_device(
    monkeypatch: pytest.MonkeyPatch, waits_s: tuple[float, ...], state: StreamState
) -> None:
    system, time, counter = PaperSystem(), Time(), [0]
    stream = kept(system, time, counter)
    stream.open(watched=False)
    counter[0] = 1
    stream.look()
    waits = iter(waits_s)

    def wait(_seconds: float) -> bool:
        waited_s = next(waits, None)
        time.now_s += waited_s or 0.0
        return waited_s is None

    monkeypatch.setattr(stream._closing, "wait", wait)
    stream._watch()
    assert stream.state is state
    stream.close()


def test_an_unplugged_device_is_looked_for_until_it_is_back() -> None:
    system, time, counter = PaperSystem(listed=(BOTH,)), Time(), [0]
    stream = kept(system, time, counter)
    stream.open(watched=False)
    counter[0] = 1
    stream.look()
    system.listed = ()
    for _ in range(20):
        time.now_s += 1.1
        stream.look()
        assert stream.state is StreamState.LOST
    # Numbers and the rate of the default may change; the rate of the stream stays.
    system.listed = (SoundDevice(7, "both", 2, 2, 44_100, True, True),)
    time.now_s += 5.1
    stream.look()
    assert system.opened[-1].index == 7
    assert system.opened[-1].rate_hz == 48_000
    stream.close()


def test_lost_time_shows_as_a_gap_in_the_numbers() -> None:
    system = PaperSystem()
    microphone = PortAudioCatalog(system).input()
    microphone.open()
    system.hear(480)
    microphone._skip_silence(1.0)
    system.hear(480)
    first, second = microphone.take(), microphone.take()
    microphone.close()
    assert first is not None
    assert second is not None
    assert (first.first, len(first.samples)) == (0, 480)
    assert second.first == 480 + 48_000


def test_a_rate_that_is_refused_is_replaced() -> None:
    system = PaperSystem(refused_rates=(48_000,))
    microphone = PortAudioCatalog(system).input()
    microphone.open()
    assert microphone.rate_hz == 44_100
    microphone.close()


def test_devices_are_chosen_by_number() -> None:
    system = PaperSystem()
    microphone = PortAudioCatalog(system).input(4)
    microphone.open()
    assert system.opened[0].name == "other"
    microphone.close()
    with pytest.raises(DeviceError, match="choose"):
        PortAudioCatalog(system).input(99).open()


@pytest.mark.parametrize("which", ["input", "output"])
def test_no_device_says_what_to_do(which: str) -> None:
    catalog = PortAudioCatalog(PaperSystem(listed=()))
    assert catalog.devices() == ()
    stream = catalog.input() if which == "input" else catalog.output()
    with pytest.raises(DeviceError, match="plug one in"):
        stream.open()
    assert stream.state is StreamState.CLOSED


def test_the_speaker_mixes_ahead_and_counts_what_came_too_late() -> None:
    system = PaperSystem()
    speaker = PortAudioCatalog(system).output()
    speaker.open()
    speaker._closing.set()  # no worker: this test mixes by hand
    speaker._worker.join()
    speaker.play(np.full(4_800, 0.25, np.float32), 48_000)
    for _ in range(40):
        system.ask(480)
        speaker.fill()
    assert speaker.underruns == 0
    out = system.ask(48_000)
    assert speaker.underruns == 1
    assert not out[-1].any()
    speaker.close()


def test_a_mono_device_gets_the_mean_of_both_channels() -> None:
    system = PaperSystem(listed=(SoundDevice(0, "mono", 0, 1, 48_000, False, True),))
    speaker = PortAudioCatalog(system).output()
    speaker.open()
    sound = np.stack([np.full(48_000, 0.4), np.zeros(48_000)], axis=1).astype(np.float32)
    speaker.play(sound, 48_000)
    heard = []
    for _ in range(200):
        heard.append(system.ask(240, channels=1))
        speaker.fill() if speaker._worker is None else speaker._closing.wait(0.002)
    assert float(np.abs(np.concatenate(heard)).max()) == pytest.approx(0.2, abs=0.01)
    speaker.close()


def test_without_the_library_there_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(*_: object) -> None:
        raise OSError("PortAudio library not found")

    monkeypatch.setattr("builtins.__import__", missing)
    with pytest.raises(DeviceError, match="libportaudio2"):
        portaudio.load()
