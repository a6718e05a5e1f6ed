"""Fakes of clock, microphone, loudspeaker and cache; `tests.fakes` gives them all."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

import numpy as np

from coach.audio.mixer import BufferSource, Mixer, Source, Voice
from coach.audio.resample import resampled
from coach.errors import DeviceError
from coach.sessions.ports import HandedSound, InputBlock, Samples, SoundDevice, StreamState


@dataclass
class FakeClock:
    """The `Clock` port; time passes only by `sleep`."""

    started: datetime = datetime(2024, 5, 6, 18, 0, tzinfo=UTC)
    passed_s: float = 0.0
    then: list[Callable[[float], None]] = field(default_factory=list)
    """Called after each `sleep` with the seconds that passed."""

    def now(self) -> datetime:
        return self.started + timedelta(seconds=self.passed_s)

    def today(self) -> date:
        return self.now().date()

    def steady_s(self) -> float:
        return 1_000.0 + self.passed_s

    def sleep(self, seconds: float) -> None:
        self.passed_s += seconds
        for call in self.then:
            call(seconds)


@dataclass
class MemoryCache:
    """The `AnalysisCache` port in memory."""

    kept: dict[str, bytes] = field(default_factory=dict)

    def get(self, key: str) -> bytes | None:
        return self.kept.get(key)

    def put(self, key: str, data: bytes) -> None:
        self.kept[key] = data


class FakeInput:
    """The `AudioInput` port; what is fed waits to be taken."""

    latency_s = 0.0

    def __init__(
        self, rate_hz: int = 48_000, clock: FakeClock | None = None, *, missing: bool = False
    ) -> None:
        self._rate_hz = rate_hz
        self._clock = clock or FakeClock()
        self._missing = missing
        self._waiting: list[Samples] = []
        self._recent = np.zeros(0, np.float32)
        self._first = 0
        self.state_now = StreamState.CLOSED

    @property
    def rate_hz(self) -> int:
        return self._rate_hz

    @property
    def state(self) -> StreamState:
        return self.state_now

    def open(self) -> None:
        if self._missing:
            raise DeviceError("There is no microphone: plug one in.")
        self.state_now = StreamState.RUNNING

    def feed(self, samples: Samples) -> None:
        """Let the microphone hear something, mono."""
        sound = np.asarray(samples, np.float32)
        self._waiting.append(sound)
        self._recent = np.concatenate([self._recent, sound])[-(1 << 20) :]

    def lose(self, frames: int) -> None:
        """Leave a gap, as an overrun does."""
        self._first += frames

    def take(self) -> InputBlock | None:
        if self.state_now is StreamState.CLOSED or not self._waiting:
            return None
        samples = np.concatenate(self._waiting)
        self._waiting = []
        first = self._first
        self._first += len(samples)
        captured_s = self._clock.steady_s() - len(samples) / self._rate_hz
        return InputBlock(samples, first, captured_s)

    def recent(self, count: int) -> Samples:
        return self._recent[-count:] if count else self._recent[:0]

    def close(self) -> None:
        self.state_now = StreamState.CLOSED


class FakeOutput:
    """The `AudioOutput` port with the real mixer; plays as its clock goes, and keeps what was heard."""

    latency_s = 0.0

    def __init__(
        self, rate_hz: int = 48_000, clock: FakeClock | None = None, *, missing: bool = False
    ) -> None:
        self._rate_hz = rate_hz
        self._clock = clock or FakeClock()
        self._missing = missing
        self._mixer = Mixer(rate_hz)
        self._played: list[Samples] = []
        self._clock.then.append(lambda _seconds: self._catch_up())
        self._since_s = self._clock.steady_s()
        self.underruns = 0
        self.state_now = StreamState.CLOSED

    @property
    def rate_hz(self) -> int:
        return self._rate_hz

    @property
    def state(self) -> StreamState:
        return self.state_now

    @property
    def sounding(self) -> bool:
        open_now = self.state_now is StreamState.RUNNING
        return open_now and (self._mixer.busy or self._mixer.made < self._mixer.sound_end)

    @property
    def heard(self) -> Samples:
        """All that was played since opening, shape (n, 2)."""
        return np.concatenate([np.zeros((0, 2), np.float32), *self._played])

    def open(self) -> None:
        if self._missing:
            raise DeviceError("There is no loudspeaker or headphone output: plug one in.")
        if self.state_now is StreamState.CLOSED:
            self.state_now = StreamState.RUNNING
            self._since_s = self._clock.steady_s()

    def play(self, samples: Samples, rate_hz: int, *, gain_db: float = 0.0, loop: bool = False) -> Voice:
        here = resampled(np.asarray(samples, np.float32), rate_hz, self._rate_hz)
        stereo = np.repeat(here[:, None], 2, axis=1) if here.ndim == 1 else here
        loop_s = len(stereo) / self._rate_hz if loop else None
        return self.play_source(
            BufferSource(stereo, self._rate_hz, loop=loop), gain_db=gain_db, loop_s=loop_s
        )

    def play_source(
        self,
        source: Source,
        *,
        gain_db: float = 0.0,
        loop_s: float | None = None,
        fade_in_s: float | None = None,
    ) -> Voice:
        self.open()
        return self._mixer.add(
            source, gain_db=gain_db, loop_s=loop_s, heard_frames=lambda: self._mixer.made, fade_in_s=fade_in_s
        )

    def handed(self, seconds: float) -> HandedSound:
        heard = self.heard[-round(seconds * self._rate_hz) :]
        return HandedSound(heard.mean(axis=1, dtype=np.float32), self._since_s - len(heard) / self._rate_hz)

    def set_volume(self, gain_db: float) -> None:
        self._mixer.set_volume(gain_db)

    def silence(self) -> None:
        self._mixer.silence()

    def close(self) -> None:
        self.state_now = StreamState.CLOSED

    def _catch_up(self) -> None:
        """Mix for the time that has passed, in blocks of 10 ms; a lost device mixes nothing."""
        block = self._rate_hz // 100
        while self._clock.steady_s() - self._since_s >= block / self._rate_hz - 1e-9:
            self._since_s += block / self._rate_hz
            if self.state_now is StreamState.RUNNING:
                self._played.append(self._mixer.render(block))


@dataclass
class FakeCatalog:
    """The `DeviceCatalog` port: one microphone, one output."""

    microphone: FakeInput = field(default_factory=FakeInput)
    speaker: FakeOutput = field(default_factory=FakeOutput)
    listed: tuple[SoundDevice, ...] = (SoundDevice(0, "fake", 1, 2, 48_000, True, True),)
    broken: str | None = None
    """The sentence of a sound system that is not there."""

    def devices(self) -> tuple[SoundDevice, ...]:
        if self.broken is not None:
            raise DeviceError(self.broken)
        return self.listed

    def input(self, device: int | None = None) -> FakeInput:
        return self.microphone

    def output(self, device: int | None = None) -> FakeOutput:
        return self.speaker
