"""A studio whose microphone hears its own loudspeaker a while later, on a clock that is stepped."""

from types import SimpleNamespace
from typing import Any

import numpy as np

from coach.hearing.engines import engine_named
from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.sessions.ports import InputBlock, StreamState
from coach.sessions.studio import Studio
from tests.fakes import FakeCatalog, FakeClock, FakeOutput, MemoryLog
from tests.synth import pink_noise

STEP_S = 0.05


class Echoing:
    """A microphone that takes in what the loudspeaker gives out, and the noise of a room."""

    rate_hz = 48_000
    latency_s = 0.0

    def __init__(self, clock: FakeClock, output: FakeOutput, delay_s: float) -> None:
        self.clock, self.output, self.delay_s = clock, output, delay_s
        self.state = StreamState.CLOSED
        self.noise = pink_noise(5.0, rate_hz=self.rate_hz, rms=1e-3)
        self.taken = self.lost = 0

    def open(self) -> None:
        self.state = StreamState.RUNNING
        self.began_s, self.taken = self.clock.steady_s(), 0
        self.from_frame = len(self.output.heard)
        self.given = np.zeros(0, np.float32)

    def take(self) -> InputBlock | None:
        count = round((self.clock.steady_s() - self.began_s) * self.rate_hz)
        heard = self.output.heard[self.from_frame :, 0]
        self.from_frame += len(heard)
        silent = max(0, count - len(self.given) - len(heard))  # the loudspeaker was lost
        self.given = np.concatenate([self.given, np.zeros(silent, np.float32), heard])
        late = round(self.delay_s * self.rate_hz)
        echo = np.concatenate([np.zeros(late, np.float32), self.given])[: len(self.given)]
        block = 0.5 * echo[self.taken :]
        if not len(block):
            return None
        block = block + np.resize(self.noise, len(block))
        captured_s = self.began_s + self.taken / self.rate_hz
        first, self.taken = self.taken + self.lost, len(echo)
        return InputBlock(np.asarray(block, np.float32), first, captured_s)

    def close(self) -> None:
        self.state = StreamState.CLOSED


class EchoRoom:
    """The real studio over fakes; time passes by the clock's sleep, which also steps the listener."""

    def __init__(
        self, delay_s: float, settings: Settings | None = None, log: MemoryLog | None = None
    ) -> None:
        self.clock = FakeClock()
        self.output = FakeOutput(clock=self.clock)
        self.microphone = Echoing(self.clock, self.output, delay_s)
        self.log = log or MemoryLog()
        chosen = settings or Settings()
        services: Any = SimpleNamespace(
            clock=self.clock,
            current_settings=lambda: chosen,
            devices=lambda: FakeCatalog(self.microphone, self.output),  # type: ignore[arg-type]
            engine=lambda _name: engine_named("yin"),
        )
        self.studio = Studio(services, Journal(self.log, self.clock))
        self.studio.listener.start = self.studio.listener.open  # type: ignore[method-assign]
        self.studio.open()
        self._since_s = 0.0
        self.clock.then.append(self._step)

    def let_pass(self, seconds: float) -> None:
        for _ in range(round(seconds / STEP_S)):
            self.clock.sleep(STEP_S)

    def _step(self, seconds: float) -> None:
        self._since_s += seconds
        if self._since_s >= STEP_S:
            self._since_s = 0.0
            self.studio.listener.step()
