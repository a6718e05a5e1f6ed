"""The live ear: from the microphone's blocks to heard notes, with or without a thread of its own."""

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from coach.errors import CoachError, DeviceError
from coach.hearing.engines import PitchEngine
from coach.hearing.frames import F0Frame
from coach.hearing.level import Level, LevelMeter
from coach.hearing.listening import HeardChunk, PlayerEar
from coach.hearing.tracker import Source
from coach.music.tuning_system import A4_HZ
from coach.sessions.deafness import Deafness
from coach.sessions.ports import AudioInput, Clock, InputBlock, Samples, StreamState

STEP_S = 0.010
"""How often the thread looks for new samples; the pitch tracker's own step is 16 ms."""
KEPT_FRAMES = 1500
"""Frames kept for drawing the pitch thread: 24 s at 16 ms."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """What one step brought: the heard chunk, and the samples it was heard in."""

    chunk: HeardChunk
    samples: Samples
    at_s: float
    """Ear time at which these samples end: seconds since the ear was opened or turned to another source."""
    deaf: bool


Hears = Callable[[Hearing], None]


class Listener:
    """Listens to the player.

    The ear's time counts captured samples, so that frames, notes and `heard_s` share one axis. While the
    ear is deaf it is fed silence: time goes on, and nothing the loudspeaker says can be taken for an answer.

    Parameters
    ----------
    microphone
        The input; opened by `open`.
    engine
        The pitch engine.
    deafness
        When not to listen.
    clock
        For waiting between the thread's steps.
    source
        Who is heard.
    a4_hz
        The tuning that note numbers refer to.
    """

    def __init__(
        self,
        microphone: AudioInput,
        engine: PitchEngine,
        deafness: Deafness,
        clock: Clock,
        *,
        source: Source = "any",
        a4_hz: float = A4_HZ,
    ) -> None:
        self._microphone = microphone
        self._engine = engine
        self._deafness = deafness
        self._clock = clock
        self._source: Source = source
        self._a4_hz = a4_hz
        self._ear: PlayerEar | None = None
        self._meter: LevelMeter | None = None
        self._heard_samples = 0
        self._next_sample = 0
        self._level: Level | None = None
        self._room_talks = False
        self._frames: deque[F0Frame] = deque(maxlen=KEPT_FRAMES)
        self._hears: list[Hears] = []
        self._overhears: list[Callable[[InputBlock], None]] = []
        self._guard = threading.RLock()
        self._thread: threading.Thread | None = None
        self._stop = threading.Event()
        self.troubled: Callable[[CoachError], None] = _nobody
        """Told, on the listening thread, of what those who listen could not keep."""

    @property
    def state(self) -> StreamState:
        """What the microphone's stream is doing."""
        return self._microphone.state

    @property
    def rate_hz(self) -> int:
        """Samples a second of the microphone, known once opened."""
        return self._microphone.rate_hz

    @property
    def heard_s(self) -> float:
        """Ear time: seconds of sound taken in since opening."""
        return self._heard_samples / self._microphone.rate_hz if self._ear else 0.0

    @property
    def level(self) -> Level | None:
        """The last level reading, ``None`` before any sound came."""
        return self._level

    @property
    def room_talks(self) -> bool:
        """Whether somebody in the room speaks: no note is taken for the player's meanwhile."""
        return self._room_talks

    @property
    def deaf(self) -> bool:
        """Whether the ear is closed now."""
        return self._deafness.closed()

    def open(self) -> None:
        """Open the microphone and begin a new ear time.

        Raises
        ------
        DeviceError
            If there is no microphone.
        """
        self._microphone.open()
        self._meter = LevelMeter(self._microphone.rate_hz)
        self._next_sample = 0
        self.attend(self._source)

    def attend(self, source: Source) -> None:
        """Listen for a voice, a guitar or either from now on; begins a new ear time."""
        with self._guard:
            self._source = source
            rate_hz = self._microphone.rate_hz
            self._ear = PlayerEar(rate_hz, self._engine, source=source, a4_hz=self._a4_hz)
            self._heard_samples = 0
            self._room_talks = False
            self._frames.clear()

    def subscribe(self, hears: Hears) -> Callable[[], None]:
        """Be told of every step, on the listening thread; the value returned ends it."""
        self._hears.append(hears)
        return lambda: self._hears.remove(hears) if hears in self._hears else None

    def overhear(self, hears: Callable[[InputBlock], None]) -> None:
        """Have all that the microphone takes in told, on the listening thread, also while the ear is deaf.

        For measuring the sound's way only: what is overheard is never taken for the player.
        """
        self._overhears.append(hears)

    def frames_since(self, time_s: float) -> tuple[F0Frame, ...]:
        """Frames from a moment of ear time on, for drawing."""
        return tuple(frame for frame in list(self._frames) if frame.time_s >= time_s)

    def step(self) -> Hearing | None:
        """Take what the microphone has and hear it; ``None`` where nothing came."""
        with self._guard:
            hearing = self._heard_next()
        if hearing is not None:
            for hears in tuple(self._hears):
                hears(hearing)
        return hearing

    def _heard_next(self) -> Hearing | None:
        block = self._microphone.take()
        if block is None or self._ear is None or self._meter is None:
            return None
        for hears in self._overhears:
            hears(block)
        until_s = self._deafness.closed_until_s()
        deaf = self._clock.steady_s() < until_s
        samples = self._without_gap(block)
        self._level = self._meter.push(samples)
        samples = self._believed(samples, block, float("inf") if deaf else until_s)
        chunk = self._ear.push(samples)
        self._heard_samples += len(samples)
        self._frames.extend(chunk.frames)
        self._room_talks = chunk.room_talks
        return Hearing(chunk, samples, self.heard_s, deaf)

    def _believed(self, samples: Samples, block: InputBlock, until_s: float) -> Samples:
        """The samples, silent up to a moment on the steady clock."""
        if block.captured_s >= until_s:
            return samples
        late_s = min(until_s - block.captured_s, len(block.samples) / self._microphone.rate_hz)
        silent = len(samples) - len(block.samples) + round(late_s * self._microphone.rate_hz)
        return np.concatenate([np.zeros(silent, np.float32), samples[silent:]])

    def _without_gap(self, block: InputBlock) -> Samples:
        """Fill an overrun with silence, so that the ear's time stays the microphone's."""
        missing = max(0, block.first - self._next_sample) if self._next_sample else 0
        self._next_sample = block.first + len(block.samples)
        if not missing:
            return block.samples
        return np.concatenate((np.zeros(missing, dtype=np.float32), block.samples))

    def start(self) -> None:
        """Open, and listen on a thread until `stop`."""
        if self._thread is not None:
            return
        self.open()
        self._stop.clear()
        self._thread = threading.Thread(target=self._run, name="listener", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the thread and close the microphone; harmless when stopped."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None
        self._microphone.close()

    def _run(self) -> None:
        while not self._stop.is_set():
            try:
                heard = self.step()
            except DeviceError:
                heard = None  # the stream's watchdog opens the device again; `state` shows it
            except CoachError as error:
                heard = None  # such as a full disk: what was heard is not kept, but the ear stays open
                self.troubled(error)
            if heard is None:
                self._stop.wait(STEP_S)


def _nobody(_error: CoachError) -> None:
    """Nobody has asked to be told."""
