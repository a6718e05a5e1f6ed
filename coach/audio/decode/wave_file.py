"""Plain wav files, read in pure Python and numpy: safe without a child process, so quick for small files.

Layout after "Multimedia Programming Interface and Data Specifications 1.0" (IBM/Microsoft 1991),
WAVEFORMATEXTENSIBLE (Microsoft), RF64 (EBU Tech 3306).
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from coach.audio.decode import words
from coach.audio.decode.blocks import to_stereo, without_odd_samples
from coach.audio.decode.limits import BLOCK_FRAMES, MAX_CHANNELS, MAX_RATE_HZ, MIN_RATE_HZ
from coach.sessions.ports import Samples

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_GUID_TAIL = bytes.fromhex("000000001000800000aa00389b71")
_UNKNOWN_SIZE = 0xFFFFFFFF
_MAX_CHUNKS = 1_000


@dataclass(frozen=True, slots=True)
class _Layout:
    tag: int
    channels: int
    rate_hz: int
    frame_bytes: int
    sample_bytes: int


def _layout(chunk: bytes) -> _Layout | None:
    """The format chunk; ``None`` unless it is plain and free of contradictions."""
    if len(chunk) < 16:
        return None
    tag, channels, rate_hz, _, frame_bytes, bits = struct.unpack_from("<HHIIHH", chunk)
    if tag == _EXTENSIBLE:
        if len(chunk) < 40 or chunk[26:40] != _GUID_TAIL:
            return None
        tag = struct.unpack_from("<H", chunk, 24)[0]
    plain = (tag == _PCM and bits in {8, 16, 24, 32}) or (tag == _FLOAT and bits in {32, 64})
    fits = 1 <= channels <= MAX_CHANNELS and frame_bytes == channels * bits // 8
    if not (plain and fits and MIN_RATE_HZ <= rate_hz <= MAX_RATE_HZ):
        return None
    return _Layout(tag, channels, rate_hz, frame_bytes, bits // 8)


def _to_float(raw: bytes, layout: _Layout) -> NDArray[np.float32]:
    """Whole frames of bytes as float32, shape (n, channels)."""
    match layout.tag, layout.sample_bytes:
        case (1, 1):
            flat = (np.frombuffer(raw, np.uint8).astype(np.float32) - 128.0) / 128.0
        case (1, 2):
            flat = np.frombuffer(raw, "<i2").astype(np.float32) / 32_768.0
        case (1, 3):
            wide = np.zeros((len(raw) // 3, 4), np.uint8)
            wide[:, 1:] = np.frombuffer(raw, np.uint8).reshape(-1, 3)
            flat = wide.reshape(-1).view("<i4").astype(np.float32) / 2_147_483_648.0
        case (1, 4):
            flat = np.frombuffer(raw, "<i4").astype(np.float32) / 2_147_483_648.0
        case (3, 4):
            flat = np.frombuffer(raw, "<f4").astype(np.float32)
        case _:
            with np.errstate(over="ignore", invalid="ignore"):
                flat = np.frombuffer(raw, "<f8").astype(np.float32)
    return flat.reshape(-1, layout.channels)


class WaveReader:
    """Blocks of a plain wav file (made by `open_wave`)."""

    def __init__(self, file: BinaryIO, layout: _Layout, present_bytes: int, promised_bytes: int) -> None:
        self.rate_hz = layout.rate_hz
        self.expected_frames: int | None = present_bytes // layout.frame_bytes
        self.lost: str | None = None
        self._file = file
        self._start = file.tell()
        self._layout = layout
        self._promised_frames = promised_bytes // layout.frame_bytes

    def blocks(self) -> Iterator[Samples]:
        """Stereo blocks; sets ``lost`` at the end."""
        odd = False
        self._file.seek(self._start)
        left = self.expected_frames or 0
        read = 0
        while left > 0:
            raw = self._file.read(min(left, BLOCK_FRAMES) * self._layout.frame_bytes)
            count = len(raw) // self._layout.frame_bytes
            if count == 0:
                break
            whole = raw[: count * self._layout.frame_bytes]
            block, odd_here = without_odd_samples(_to_float(whole, self._layout))
            odd |= odd_here
            left -= count
            read += count
            yield to_stereo(block)
        if read < self._promised_frames:
            self.lost = words.ends_early(read / self.rate_hz, self._promised_frames / self.rate_hz)
        elif odd:
            self.lost = words.ODD_SAMPLES


def open_wave(file: BinaryIO, size_bytes: int) -> WaveReader | None:
    """A reader for the file, or ``None`` if anything about its header is out of the ordinary.

    A data chunk without a size (a recorder that was switched off, a stream) reaches to the end of the file.
    """
    file.seek(0)
    head = file.read(12)
    riff_bytes = struct.unpack_from("<I", head, 4)[0]
    layout: _Layout | None = None
    long_bytes: int | None = None
    for _ in range(_MAX_CHUNKS):
        chunk = file.read(8)
        if len(chunk) < 8:
            return None
        name, size = chunk[:4], struct.unpack_from("<I", chunk, 4)[0]
        if name == b"data" and layout is not None:
            present = size_bytes - file.tell()
            closed = riff_bytes + 8 == size_bytes
            unsized = size == _UNKNOWN_SIZE or (size == 0 and not closed)
            promised = long_bytes if unsized and long_bytes is not None else present if unsized else size
            return WaveReader(file, layout, min(present, promised), promised)
        if name == b"fmt ":
            layout = _layout(file.read(min(size, 64)))
            if layout is None:
                return None
            file.seek(max(0, size - 64), 1)
        elif name == b"ds64" and size >= 24:
            sizes = file.read(24)
            long_bytes = struct.unpack_from("<Q", sizes, 8)[0] if len(sizes) == 24 else None
            file.seek(size - 24, 1)
        else:
            file.seek(size, 1)
        if size & 1:
            file.seek(1, 1)
    return None
