"""The ports: what the use cases need of the world, as small protocols.

The adapters live in ``coach.audio`` and ``coach.store``; one contract suite runs over them and the fakes.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coach.practice.events import Event, LoggedEvent
from coach.practice.progress import Progress
from coach.practice.settings import Settings

Samples = NDArray[np.float32]
"""Mono samples of shape (n,), or stereo of shape (n, 2), float32, full scale ±1."""


# --- time -------------------------------------------------------------------------------------------------


class Clock(Protocol):
    """The wall clock and a steady clock."""

    def now(self) -> datetime:
        """The present moment, with its time zone."""
        ...

    def today(self) -> date:
        """The present day where the player is."""
        ...

    def steady_s(self) -> float:
        """Seconds of a clock that never jumps; only differences mean something."""
        ...

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        ...


# --- sound devices ----------------------------------------------------------------------------------------


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

    def open(self) -> None:
        """Start the stream; ``DeviceError`` if there is no output."""
        ...

    def play(self, samples: Samples, rate_hz: int, *, gain_db: float = 0.0, loop: bool = False) -> Sound:
        """Begin a sound at once (mono or stereo, resampled to the device's rate when it differs)."""
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


# --- audio files ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class DecodedAudio:
    """A decoded recording.

    Parameters
    ----------
    stereo
        Shape (n, 2), float32, at ``rate_hz``; a mono file has two equal channels.
    rate_hz
        The file's own rate.
    sha256
        Hash of the file's bytes, hexadecimal.
    lost
        A plain sentence about what could not be read of a damaged file, ``None`` if all was.
    """

    stereo: Samples
    rate_hz: int
    sha256: str
    lost: str | None = None

    @property
    def mono(self) -> Samples:
        """Mean of the channels, shape (n,)."""
        return self.stereo.mean(axis=1, dtype=np.float32)

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.stereo.shape[0] / self.rate_hz


class Jobs(Protocol):
    """How a long job tells its progress and learns that it is to stop."""

    def progress(self, share: float, what: str) -> None:
        """Tell how far it is, 0 to 1, and in words what is being done.

        Raises
        ------
        CancelledError
            If the user has stopped the job: let it pass.
        """
        ...


class Decoder(Protocol):
    """Reads audio files of any usual kind."""

    def decode(self, path: Path, jobs: Jobs | None = None) -> DecodedAudio:
        """Read a file, in limits of time, memory and length.

        Raises
        ------
        UnreadableFileError, TooLargeError, CancelledError
            With a sentence that says what to do.
        """
        ...


class Encoder(Protocol):
    """Writes audio files."""

    def encode(self, path: Path, samples: Samples, rate_hz: int) -> None:
        """Write a wav, flac or ogg file by the path's ending, whole or not at all."""
        ...


class Emphasis(StrEnum):
    """What is made louder in a recording."""

    ALL = "all"
    MELODY = "melody"
    BASS = "bass"
    BASS_RAISED = "bass_raised"
    """The bass louder and an octave higher."""


class Stretcher(Protocol):
    """Slows down and shifts recorded sound."""

    def render(
        self,
        stereo: Samples,
        rate_hz: int,
        *,
        speed: float = 1.0,
        shift_semitones: float = 0.0,
        emphasis: Emphasis = Emphasis.ALL,
        best: bool = True,
    ) -> Samples:
        """Slowed, shifted, filtered copy, shape (n / speed, 2); ``best=False`` is quicker and rougher."""
        ...


# --- the data folder --------------------------------------------------------------------------------------


class PracticeLog(Protocol):
    """The append-only log of everything that was practised."""

    def append(self, event: Event, at: datetime) -> LoggedEvent:
        """Write one event so that it survives a crash of the program, and give it back with its number.

        Raises
        ------
        StoreError
            If it could not be written or the log was opened for reading only.
        """
        ...

    def events(self, *, since: datetime | None = None, after: int = 0) -> Iterator[LoggedEvent]:
        """Events in order, from a moment or from after a number on."""
        ...

    def progress(self) -> Progress:
        """The fold over the whole log (by a snapshot and the events after it)."""
        ...

    def close(self) -> None:
        """Let go of the file and of the lock."""
        ...


@dataclass(frozen=True, slots=True)
class PieceFiles:
    """What the library holds of one piece: the folder, and the recording kept in it (if any)."""

    piece: str
    title: str
    folder: Path
    recording: Path | None


class PieceLibrary(Protocol):
    """The folders of the pieces: recordings, lines, takes, sheets."""

    def pieces(self) -> tuple[PieceFiles, ...]:
        """All pieces, in order of their making."""
        ...

    def add(self, title: str, recording: Path | None) -> PieceFiles:
        """Make a folder for a new piece and copy its recording into it (named by its hash)."""
        ...

    def find(self, piece: str) -> PieceFiles:
        """A piece by its identifier; ``StoreError`` if there is none."""
        ...

    def write(self, piece: str, name: str, data: bytes) -> Path:
        """Write a file of the piece whole or not at all (temporary file, fsync, rename)."""
        ...

    def read(self, piece: str, name: str) -> bytes | None:
        """A file of the piece, ``None`` if there is none."""
        ...


class FileWriter(Protocol):
    """Writes files outside the data folder, for the player."""

    def write(self, path: Path, data: bytes) -> None:
        """Write whole or not at all (temporary file, fsync, rename), making the folder.

        Raises
        ------
        StoreError
            If it could not be written.
        """
        ...


class AnalysisCache(Protocol):
    """A bounded cache on disk; anything in it may vanish at any time."""

    def get(self, key: str) -> bytes | None:
        """What was put under a key (letters, digits, ``-`` and ``_``), ``None`` if it is gone."""
        ...

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key; failing to is not an error."""
        ...


class SettingsStore(Protocol):
    """The player's settings on disk."""

    def load(self) -> Settings:
        """The settings kept, the defaults where there are none or they are broken."""
        ...

    def save(self, settings: Settings) -> None:
        """Keep settings, whole or not at all."""
        ...


# --- the screen -------------------------------------------------------------------------------------------


class UiCalls(Protocol):
    """Brings a call from any thread to the screen's own."""

    def later(self, call: Callable[[], None]) -> None:
        """Run the call on the screen's thread soon."""
        ...


class Folder(Protocol):
    """A read-only folder of the project's own data (exercises, assets)."""

    def names(self, suffix: str = "") -> Iterable[str]:
        """Relative names of all files below, with ``/``, sorted."""
        ...

    def read(self, name: str) -> bytes:
        """One file; ``MissingPartError`` if it is not there."""
        ...
