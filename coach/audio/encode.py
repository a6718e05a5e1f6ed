"""The `Encoder` port: audio files out, whole or not at all."""

import contextlib
import os
import uuid
from pathlib import Path

import numpy as np
import soundfile

from coach.errors import InputError, StoreError
from coach.sessions.ports import Samples

_BLOCK_FRAMES = 65_536
"""libsndfile's Vorbis encoder overflows its stack on very large single writes."""

_FORMATS = {
    ".wav": ("WAV", "PCM_24"),
    ".flac": ("FLAC", "PCM_24"),
    ".ogg": ("OGG", "VORBIS"),
}


class FileEncoder:
    """Writes wav, flac and ogg files by libsndfile.

    Wav and flac get 24 bits, so that nothing audible is lost (-144 dB); a sound that goes over full scale is
    kept whole in a float wav and clipped elsewhere.
    """

    def encode(self, path: Path, samples: Samples, rate_hz: int) -> None:
        """Write a file in the kind that the path's ending names, making its folder.

        Raises
        ------
        InputError
            If the ending names no kind of file that can be written.
        StoreError
            If it could not be written.
        """
        kind = _FORMATS.get(path.suffix.lower())
        if kind is None:
            raise InputError("Audio is written as .wav, .flac or .ogg: give the file one of these endings.")
        container, subtype = kind
        if container == "WAV" and float(np.abs(samples).max(initial=0.0)) > 1.0:
            subtype = "FLOAT"
        temporary = path.parent / f".{uuid.uuid4().hex}.part"
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with temporary.open("x+b") as file:
                _write(file.fileno(), samples, rate_hz, container, subtype)
                os.fsync(file.fileno())
            temporary.replace(path)
        except (OSError, soundfile.LibsndfileError):
            raise StoreError(
                f"{path.name} could not be written: check the folder and the free space."
            ) from None
        finally:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)


def _write(file: int, samples: Samples, rate_hz: int, container: str, subtype: str) -> None:
    channels = 1 if samples.ndim == 1 else samples.shape[1]
    with soundfile.SoundFile(
        file, "w", rate_hz, channels, subtype=subtype, format=container, closefd=False
    ) as out:
        for first in range(0, samples.shape[0], _BLOCK_FRAMES):
            out.write(np.ascontiguousarray(samples[first : first + _BLOCK_FRAMES], np.float32))
