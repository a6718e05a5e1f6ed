"""Audio files: reading, writing, slowing down."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Protocol

import numpy as np

from coach.sessions.ports.jobs import Jobs
from coach.sessions.ports.samples import Samples

AUDIO_ENDINGS = frozenset(
    {
        ".wav", ".aif", ".aiff", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".m4a", ".mp4", ".aac", ".wma",
        ".webm",
    }
)  # fmt: skip
"""Endings by which recordings are looked for; a decoder goes by what is in a file."""


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
        mixed: Samples = self.stereo.mean(axis=1, dtype=np.float32)
        return mixed

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return float(self.stereo.shape[0] / self.rate_hz)


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


MOST_SHIFT_SEMITONES = 24.0
"""Two octaves up or down; further, nothing is left that sounds like the recording (our own choice)."""


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
        gain: float | None = None,
    ) -> Samples:
        """Slowed, shifted, filtered copy, shape (n / speed, 2); ``best=False`` is quicker and rougher.

        What is emphasised is as loud as the recording; parts of one section get the same ``gain``, that of
        `gain_of` for the whole, so that their joints are no steps.
        """
        ...

    def gain_of(self, stereo: Samples, rate_hz: int, emphasis: Emphasis) -> float:
        """The factor that makes the emphasised sound as loud as the recording."""
        ...
