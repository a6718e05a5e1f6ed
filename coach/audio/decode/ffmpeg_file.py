"""Files that FFmpeg's libraries read (m4a, aac, webm, wma); only in the child process."""

from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Any

import av
import numpy as np

from coach.audio.decode import words
from coach.audio.decode.blocks import to_stereo, without_odd_samples
from coach.audio.decode.limits import MISSING_S
from coach.sessions.ports import Samples

_FORMATS = "aac,aiff,ape,asf,avi,caf,flac,matroska,webm,mov,mp4,m4a,3gp,mp3,mpeg,mpegts,ogg,wav,w64,wv"
"""Containers that hold their own sound: no play lists and nothing that names other files or addresses."""


_LAVC_PRIMING = 1_024
"""FFmpeg's own AAC encoder begins with this many samples of padding (``initial_padding`` of its encoder) and
signs its first packet; a container that tells the padding has it removed by the demuxer already."""

_MOST_PADDING = 4_096
"""Longest tail that is a codec's padding and not sound the container forgot to count."""


class NoSoundError(Exception):
    """The container is fine and holds no audio track."""


class FfmpegReader:
    """Blocks of a file by FFmpeg's libraries.

    Raises
    ------
    av.FFmpegError
        If it cannot be opened.
    NoSoundError
        If it holds no audio.
    """

    def __init__(self, path: Path) -> None:
        options = {"format_whitelist": _FORMATS, "protocol_whitelist": "file"}
        self._container: Any = av.open(str(path), options=options, metadata_errors="ignore")
        if not self._container.streams.audio:
            self._container.close()
            raise NoSoundError
        self._stream: Any = self._container.streams.audio[0]
        self._expected_s = self._promised_s()
        self._frames: Iterator[Any] = self._decoded()
        self._bad_packets = 0
        self._padding = 0
        self._broken = False
        self._first = next(self._frames, None)
        self.rate_hz: int = self._first.sample_rate if self._first is not None else 0
        self.expected_frames: int | None = round(self._expected_s * self.rate_hz) or None
        self.lost: str | None = None

    def _promised_s(self) -> float:
        if self._container.format.name in {"aac", "mp3"}:  # no index: only an estimate
            return 0.0
        if self._stream.duration is not None and self._stream.time_base is not None:
            return float(self._stream.duration * self._stream.time_base)
        return float(self._container.duration or 0) / av.time_base

    def _decoded(self) -> Iterator[Any]:
        """Frames in order, past damaged packets."""
        try:
            for number, packet in enumerate(self._container.demux(self._stream)):
                if number == 0:
                    self._padding = self._untold_padding(packet)
                try:
                    yield from packet.decode()
                except av.error.InvalidDataError:
                    self._bad_packets += 1
        except av.error.FFmpegError:
            self._broken = True

    def _untold_padding(self, packet: Any) -> int:  # noqa: ANN401  av has no types
        told = packet.pts is not None and packet.pts < 0
        aac = self._stream.codec_context.name == "aac"
        return _LAVC_PRIMING if aac and not told and b"Lavc" in bytes(packet) else 0

    def _parts(self) -> Iterator[Samples]:
        """Everything that is decoded, as stereo blocks."""
        resampler = av.AudioResampler(format="fltp", layout="stereo", rate=self.rate_hz)
        for frame in chain((self._first,), self._frames, (None,)):  # None: the resampler's last samples
            for part in resampler.resample(frame):
                block = np.ascontiguousarray(part.to_ndarray().T, np.float32)
                yield block if block.shape[1] == 2 else to_stereo(block)

    def _without_padding(self) -> Iterator[Samples]:
        """The parts without the codec's padding at both ends.

        The length that an MPEG-4 file tells is exact; a short rest behind it is padding, a long one means
        that the length is wrong.
        """
        end = self.expected_frames if "mp4" in self._container.format.name else None
        skip, at, rest = self._padding, 0, list[Samples]()
        for part in self._parts():
            start, stop = at, at + part.shape[0]
            at = stop
            sound_end = stop if end is None else min(max(end, start), stop)
            yield part[max(0, skip - start) : sound_end - start]
            rest.append(part[sound_end - start :])
            if sum(len(block) for block in rest) > _MOST_PADDING:
                yield from rest
                rest, end = [], None

    def blocks(self) -> Iterator[Samples]:
        """Stereo blocks; sets ``lost`` at the end."""
        read, odd = 0, False
        with self._container:
            if self._first is None:
                return
            for part in self._without_padding():
                block, odd_here = without_odd_samples(part)
                odd |= odd_here
                read += block.shape[0]
                yield block
        read_s = read / self.rate_hz
        if self._bad_packets:
            self.lost = words.gaps()
        elif self._expected_s - read_s > MISSING_S:
            self.lost = words.ends_early(read_s, self._expected_s)
        elif self._broken:
            self.lost = words.broken_off(read_s)
        elif odd:
            self.lost = words.ODD_SAMPLES
