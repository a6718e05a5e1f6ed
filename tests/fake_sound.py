"""Sound devices without sound: a scripted microphone, a silent output, and the clock that moves both."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from coach.sessions.ports import HandedSound, InputBlock, StreamState

BLOCK_S = 0.01
START = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)

Samples = NDArray[np.float32]


@dataclass
class SteppedClock:
    """The `Clock` port; time passes only when it is told to."""

    steady: float = 0.0

    def now(self) -> datetime:
        return START + timedelta(seconds=self.steady)

    def today(self) -> date:
        return self.now().date()

    def steady_s(self) -> float:
        return self.steady

    def sleep(self, seconds: float) -> None:
        self.steady += seconds


@dataclass
class ScriptedInput:
    """The `AudioInput` port; what is said into it comes out in blocks of 10 ms, silence before and after."""

    clock: SteppedClock
    rate_hz: int = 48000
    state: StreamState = StreamState.CLOSED
    said: list[Samples] = field(default_factory=list)
    taken: int = 0

    def open(self) -> None:
        self.state = StreamState.RUNNING
        self.taken = 0

    def say(self, samples: Samples) -> None:
        self.said.append(np.asarray(samples, np.float32))

    def take(self) -> InputBlock | None:
        """The next 10 ms; moves the clock."""
        if self.state is not StreamState.RUNNING:
            return None
        count = round(BLOCK_S * self.rate_hz)
        block = np.zeros(count, np.float32)
        if self.said:
            part = self.said[0][:count]
            block[: len(part)] = part
            self.said[0] = self.said[0][count:]
            if not len(self.said[0]):
                self.said.pop(0)
        first = self.taken
        self.taken += count
        self.clock.sleep(BLOCK_S)
        return InputBlock(block, first, self.clock.steady_s())

    def recent(self, count: int) -> Samples:
        return np.zeros(count, np.float32)

    def close(self) -> None:
        self.state = StreamState.CLOSED


@dataclass
class SilentSound:
    """The `Sound` port: lasts as long as its samples by the clock."""

    clock: SteppedClock
    length_s: float
    began_s: float
    stopped: bool = False

    @property
    def playing(self) -> bool:
        return not self.stopped and self.position_s < self.length_s

    @property
    def position_s(self) -> float:
        return min(self.length_s, self.clock.steady_s() - self.began_s)

    def stop(self) -> None:
        self.stopped = True


@dataclass
class SilentOutput:
    """The `AudioOutput` port; remembers what was played."""

    clock: SteppedClock
    rate_hz: int = 48000
    state: StreamState = StreamState.RUNNING
    underruns: int = 0
    volume_db: float = 0.0
    sounds: list[SilentSound] = field(default_factory=list)
    played: list[Samples] = field(default_factory=list)

    @property
    def sounding(self) -> bool:
        return any(sound.playing for sound in self.sounds)

    def open(self) -> None:
        self.state = StreamState.RUNNING

    def play(
        self, samples: Samples, rate_hz: int, *, gain_db: float = 0.0, loop: bool = False
    ) -> SilentSound:
        length_s = float("inf") if loop else len(samples) / rate_hz
        sound = SilentSound(self.clock, length_s, self.clock.steady_s())
        self.sounds.append(sound)
        self.played.append(samples)
        return sound

    def handed(self, seconds: float) -> HandedSound:
        count = round(seconds * self.rate_hz)
        return HandedSound(np.zeros(count, np.float32), self.clock.steady_s() - seconds)

    def set_volume(self, gain_db: float) -> None:
        self.volume_db = gain_db

    def silence(self) -> None:
        for sound in self.sounds:
            sound.stop()

    def close(self) -> None:
        self.state = StreamState.CLOSED
