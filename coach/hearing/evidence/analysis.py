"""The analysis of a whole recording, made once and kept: what every question about its notes reads."""

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Self

import numpy as np
import numpy.typing as npt

from coach.errors import CancelledError, UnreadableFileError
from coach.hearing.evidence.activations import activations
from coach.hearing.evidence.spectrum import (
    GRID_BINS,
    HOP_S,
    WINDOWS_S,
    Floats,
    decibels,
    log_frequency,
    magnitudes,
    thinned,
    window_samples,
)
from coach.hearing.evidence.summary import SUMMARY_FRAMES, summary_of
from coach.hearing.tuning_offset import tuning_offset

Bytes = npt.NDArray[np.uint8]
FORMAT = 3
"""Of the bytes that are kept; one more where they change, or the tuning that is found does (they are laid out
by it), so that older ones are made anew."""
RATE_RANGE_HZ = (4000.0, 384000.0)
"""Sample rates that are taken."""
LEVEL_RANGE_DB = (-75.0, 10.0)
"""Levels that are kept, relative to the recording's own reference."""
ACTIVATION_RANGE = (-3.0, 0.4)
"""Base-10 logarithms of activations that are kept."""
REFERENCE_SHARE = 0.9
"""The reference is the loudest bin of the frame that is louder than this share of frames."""
SILENCE_DB = -80.0
"""A recording whose reference lies below is silence."""
_CHUNK_FRAMES = 400
"""Frames (10 s) at a time: so often progress is told, and so little is held at once."""


@dataclass(frozen=True, slots=True, eq=False)
class RecordingAnalysis:
    """Spectra and activations of a recording, a frame each 25 ms.

    Parameters
    ----------
    duration_s
        Length of the recording in seconds.
    tuning_cents
        How far it is tuned from A4 = 440 Hz, -50 to 50; the spectra are tuned by it.
    reference_db
        Level that counts as 0 dB, in dB of full scale.
    levels
        Shape (3, frames, 283), one layer a window length: dB against the reference, quantised to a byte.
    pitches
        Shape (frames, 73): logarithms of activations of MIDI 28 to 100, quantised to a byte.
    summary
        What kind of recording it is, see `coach.hearing.evidence.summary`.
    """

    duration_s: float
    tuning_cents: float
    reference_db: float
    levels: Bytes = field(repr=False)
    pitches: Bytes = field(repr=False)
    summary: tuple[float, ...]

    @property
    def frames(self) -> int:
        """Number of frames; the last lies at or before the end."""
        return len(self.pitches)

    @property
    def silent(self) -> bool:
        """Whether nothing sounds anywhere."""
        return self.reference_db < SILENCE_DB

    def levels_at(self, frames: npt.NDArray[np.intp]) -> Floats:
        """DB against the reference, (3, len(frames), bins)."""
        return _from_bytes(self.levels[:, frames], LEVEL_RANGE_DB)

    def activations_at(self, frames: npt.NDArray[np.intp]) -> Floats:
        """Base-10 logarithms of activations, (len(frames), pitches)."""
        return _from_bytes(self.pitches[frames], ACTIVATION_RANGE)

    def to_bytes(self) -> bytes:
        """For a cache: a compressed archive of plain arrays."""
        file = io.BytesIO()
        facts = np.array([FORMAT, self.duration_s, self.tuning_cents, self.reference_db])
        np.savez_compressed(
            file, facts=facts, levels=self.levels, pitches=self.pitches, summary=np.array(self.summary)
        )
        return file.getvalue()

    @classmethod
    def from_bytes(cls, kept: bytes) -> Self:
        """From what ``to_bytes`` gave.

        Raises
        ------
        UnreadableFileError
            If the bytes are broken or of another version: analyse again.
        """
        wrong = UnreadableFileError(
            "The kept analysis of this recording is damaged or old: analyse it again."
        )
        try:
            with np.load(io.BytesIO(kept), allow_pickle=False) as arrays:
                facts, levels, pitches = arrays["facts"], arrays["levels"], arrays["pitches"]
                summary = tuple(float(value) for value in arrays["summary"])
        except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile) as error:
            raise wrong from error
        shapes = levels.ndim == 3 and pitches.ndim == 2 and len(facts) == 4
        if not shapes or facts[0] != FORMAT or levels.shape != (len(WINDOWS_S), len(pitches), GRID_BINS):
            raise wrong
        return cls(float(facts[1]), float(facts[2]), float(facts[3]), levels, pitches, summary)


def analyse(
    samples: npt.NDArray[np.float32],
    rate_hz: float,
    *,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> RecordingAnalysis:
    """Analyse a recording once.

    Parameters
    ----------
    samples
        Mono, -1 to 1.
    rate_hz
        4 kHz to 384 kHz.
    progress
        Told the share done, 0 to 1.
    cancelled
        Asked now and then.

    Raises
    ------
    CancelledError
        When ``cancelled`` says so.
    UnreadableFileError
        For a recording without samples.
    """
    if not RATE_RANGE_HZ[0] <= rate_hz <= RATE_RANGE_HZ[1]:
        raise ValueError(f"a recording has 4 to 384 kHz, not {rate_hz}")
    if samples.ndim != 1:
        raise ValueError("one channel is wanted")
    if len(samples) == 0:
        raise UnreadableFileError("This recording is empty: choose another file.")
    duration_s = len(samples) / rate_hz
    thin, rate = thinned(np.asarray(samples, dtype=np.float32), rate_hz)
    cents = tuning_offset(thin, rate)
    frames = max(1, int(duration_s / HOP_S) + 1)
    layers: list[npt.NDArray[np.float16]] = []
    for first in range(0, frames, _CHUNK_FRAMES):
        if cancelled is not None and cancelled():
            raise CancelledError("The analysis was stopped.")
        count = min(_CHUNK_FRAMES, frames - first)
        layers.append(_layers(thin, rate, cents, first, count))
        if progress is not None:
            progress((first + count) / frames)
    return _packed(layers, duration_s, cents)


def _layers(samples: Floats, rate_hz: float, cents: float, first: int, count: int) -> npt.NDArray[np.float16]:
    out = []
    for length_s in WINDOWS_S:
        spectra = magnitudes(samples, rate_hz, length_s, first, count)
        grid = log_frequency(spectra, rate_hz / window_samples(length_s, rate_hz), cents)
        out.append(decibels(grid).astype(np.float16))
    return np.stack(out)


def _packed(layers: list[npt.NDArray[np.float16]], duration_s: float, cents: float) -> RecordingAnalysis:
    """Chunk by chunk, each let go as it is packed: of a long recording all at once would be large."""
    loudest = np.sort(np.concatenate([layer[0].max(axis=1) for layer in layers]).astype(np.float32))
    reference = float(loudest[int(REFERENCE_SHARE * (len(loudest) - 1))])
    frames = len(loudest)
    kept = np.empty((len(WINDOWS_S), frames, GRID_BINS), np.uint8)
    logs: list[Floats] = []
    first = 0
    while layers:
        layer = layers.pop(0)
        chunk = slice(first, first + layer.shape[1])
        kept[:, chunk] = _to_bytes(layer.astype(np.float32) - np.float32(reference), LEVEL_RANGE_DB)
        logs.append(_activation_logs(kept[0, chunk], silent=reference < SILENCE_DB))
        first = chunk.stop
    pitches = np.concatenate(logs)
    step = max(1, frames // SUMMARY_FRAMES)
    summary = summary_of(_from_bytes(kept[:, ::step], LEVEL_RANGE_DB), pitches[::step])
    return RecordingAnalysis(
        duration_s, cents, reference, kept, _to_bytes(pitches, ACTIVATION_RANGE), summary
    )


def _activation_logs(levels: Bytes, *, silent: bool) -> Floats:
    relative = _from_bytes(levels, LEVEL_RANGE_DB)
    linear = np.where(relative > LEVEL_RANGE_DB[0], 10 ** (relative / 20), 0).astype(np.float32)
    if silent:
        linear[:] = 0
    found = np.concatenate([activations(piece) for piece in np.array_split(linear, 1 + len(linear) // 2000)])
    return np.asarray(np.log10(np.maximum(found, 10 ** ACTIVATION_RANGE[0])), dtype=np.float32)


def _to_bytes(values: Floats, limits: tuple[float, float]) -> Bytes:
    low, high = limits
    return np.asarray(np.round((np.clip(values, low, high) - low) * (255 / (high - low))), dtype=np.uint8)


def _from_bytes(kept: Bytes, limits: tuple[float, float]) -> Floats:
    low, high = limits
    return np.asarray(kept * np.float32((high - low) / 255) + np.float32(low), dtype=np.float32)
