"""Sound devices."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from coach.sessions.ports.samples import Samples


@dataclass(frozen=True, slots=True)
class SoundDevice:
    """A device as the sound system lists it."""

    index: int
    name: str
    inputs: int
    outputs: int
    rate_hz: int
    is_default_input: bool
    is_default_output: bool


class StreamState(StrEnum):
    """What a stream is doing."""

    CLOSED = "closed"
    WAITING = "waiting"
    """Opened; no block has come yet."""
    RUNNING = "running"
    LOST = "lost"
    """Blocks stopped coming; it is being opened again."""


@dataclass(frozen=True, slots=True)
class InputBlock:
    """Samples taken from the microphone.

    Parameters
    ----------
    samples
        Mono, shape (n,).
    first
        Number of the first sample since the stream was opened; a gap from the last block means overrun.
    captured_s
        Steady-clock time at which the first sample was captured (the sound card's ADC time).
    """

    samples: Samples
    first: int
    captured_s: float


@dataclass(frozen=True, slots=True)
class HandedSound:
    """Samples that were handed to an output: mono, shape (n,), and the steady time of the first one."""

    samples: Samples
    began_s: float


class AudioInput(Protocol):
    """A microphone at its own rate; blocks wait in a ring until they are taken."""

    @property
    def rate_hz(self) -> int:
        """Samples a second, known once opened."""
        ...

    @property
    def state(self) -> StreamState:
        """What the stream is doing now (a watchdog turns RUNNING into LOST and opens it again)."""
        ...

    @property
    def latency_s(self) -> float:
        """From a sound at the microphone to its samples, as the device tells; 0 before opening."""
        ...

    def open(self) -> None:
        """Start capturing.

        Raises
        ------
        DeviceError
            If there is no microphone or sound system.
        """
        ...

    def take(self) -> InputBlock | None:
        """All that came since the last call, ``None`` if nothing did. One reader at a time."""
        ...

    def recent(self, count: int) -> Samples:
        """The last ``count`` samples for drawing, without taking them (fewer after opening)."""
        ...

    def close(self) -> None:
        """Stop capturing; harmless when closed."""
        ...


class Sound(Protocol):
    """One sound under way on an output."""

    @property
    def playing(self) -> bool:
        """Whether any of it is still to be heard."""
        ...

    @property
    def position_s(self) -> float:
        """Seconds of the sound already handed to the device (within the loop for a loop)."""
        ...

    def stop(self) -> None:
        """Fade out within 30 ms and end."""
        ...


class AudioOutput(Protocol):
    """A loudspeaker or headphones; mixes what is played, fades in, limits, never over full scale."""

    @property
    def rate_hz(self) -> int:
        """Samples a second, known once opened."""
        ...

    @property
    def state(self) -> StreamState:
        """What the stream is doing now."""
        ...

    @property
    def sounding(self) -> bool:
        """Whether anything is heard now, the device's own delay included."""
        ...

    @property
    def underruns(self) -> int:
        """Blocks that came too late since opening."""
        ...

    @property
    def latency_s(self) -> float:
        """From handing a sample out to hearing it, as the device tells; 0 before opening."""
        ...

    def open(self) -> None:
        """Start the stream; ``DeviceError`` if there is no output."""
        ...

    def play(self, samples: Samples, rate_hz: int, *, gain_db: float = 0.0, loop: bool = False) -> Sound:
        """Begin a sound at once (mono or stereo, resampled to the device's rate when it differs)."""
        ...

    def handed(self, seconds: float) -> HandedSound:
        """The last of what was handed to the device, at most 1.5 s (less after opening)."""
        ...

    def set_volume(self, gain_db: float) -> None:
        """How loud everything together is, at most 0 dB; from now on."""
        ...

    def silence(self) -> None:
        """Fade everything out."""
        ...

    def close(self) -> None:
        """Stop the stream; harmless when closed."""
        ...


class DeviceCatalog(Protocol):
    """The sound devices of this machine."""

    def devices(self) -> tuple[SoundDevice, ...]:
        """All devices; empty where there are none. ``DeviceError`` without a sound system."""
        ...

    def input(self, device: int | None = None) -> AudioInput:
        """A microphone (not opened), the default one unless told otherwise."""
        ...

    def output(self, device: int | None = None) -> AudioOutput:
        """An output (not opened), the default one unless told otherwise."""
        ...
