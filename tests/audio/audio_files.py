"""Audio files of every kind the app reads, made on the spot, with the same known sound in each."""

from pathlib import Path

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

RATE_HZ = 44_100
"""Rate of all kinds but Opus."""

SOUND_FILE_KINDS = ("wav", "aiff", "flac", "ogg", "mp3")
FFMPEG_KINDS = ("m4a", "aac", "webm")


def plucks(length_s: float = 2.0, rate_hz: int = RATE_HZ) -> NDArray[np.float32]:
    """Decaying tones four times a second, a semitone higher each time, louder on the left; shape (n, 2)."""
    out = np.zeros((round(length_s * rate_hz), 2), np.float32)
    time = np.arange(round(0.2 * rate_hz)) / rate_hz
    for number in range(int(length_s * 4)):
        hz = 220.0 * 2 ** ((number % 24) / 12)
        first = round(number * 0.25 * rate_hz)
        tone = np.exp(-time * 12) * np.sin(2 * np.pi * hz * time) * 0.4
        part = tone[: len(out) - first]
        out[first : first + len(part)] += np.stack([part, 0.5 * part], axis=1).astype(np.float32)
    return out


def write_by_ffmpeg(
    path: Path, sound: NDArray[np.float32], codec: str, *, rate_hz: int = RATE_HZ, fast_start: bool = False
) -> None:
    """Encode a stereo sound with FFmpeg's libraries."""
    options = {"movflags": "faststart"} if fast_start else {}
    form = "adts" if path.suffix == ".aac" else None
    with av.open(str(path), "w", format=form, options=options) as container:
        stream = container.add_stream(codec, rate=rate_hz)
        stream.layout = "stereo"
        whole = av.AudioFrame.from_ndarray(np.ascontiguousarray(sound.T), format="fltp", layout="stereo")
        whole.sample_rate = rate_hz
        whole.pts = 0
        resampler = av.AudioResampler(format=stream.codec_context.format.name, layout="stereo", rate=rate_hz)
        for frame in [*resampler.resample(whole), *resampler.resample(None), None]:
            for packet in stream.encode(frame):
                container.mux(packet)


def write(path: Path, sound: NDArray[np.float32]) -> None:
    """Write the sound in the kind that the path's ending names."""
    match path.suffix:
        case ".opus":
            soundfile.write(path, sound, 48_000, format="OGG", subtype="OPUS")
        case ".m4a" | ".aac":
            write_by_ffmpeg(path, sound, "aac")
        case ".webm":
            write_by_ffmpeg(path, sound, "libopus", rate_hz=48_000)
        case _:
            soundfile.write(path, sound, RATE_HZ)


def lag_samples(heard: NDArray[np.float32], wanted: NDArray[np.float32]) -> int:
    """By how many samples ``heard`` comes later than ``wanted`` (peak of the cross-correlation)."""
    size = 1 << (len(heard) + len(wanted)).bit_length()
    both = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(wanted, size)), size)
    lag = int(np.argmax(both))
    return lag if lag < size // 2 else lag - size
