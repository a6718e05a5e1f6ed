"""Files that libsndfile reads (aiff, flac, ogg, opus, mp3, unusual wav); only in the child process."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from typing_extensions import override

from coach.audio.decode import words
from coach.audio.decode.aiff_header import promised_aiff_frames
from coach.audio.decode.blocks import to_stereo, without_odd_samples
from coach.audio.decode.limits import BLOCK_FRAMES, MISSING_S
from coach.audio.decode.riff_header import promised_wave_frames
from coach.sessions.ports import Samples

_OGG_PAGE, _OGG_HEAD, _OGG_END_FLAG = b"OggS", 27, 4
_HUGE_FRAMES = 1 << 48
_READ_FRAMES = 4_096


class _Forward(soundfile.SoundFile):  # type: ignore[misc]  # the package has no types
    """A file that is read from its beginning to its end only.

    soundfile seeks after each read of a seekable file. That resets the mp3 decoder, which then lacks the bits
    it borrows from frames before: every block would begin with up to 26 ms of wrong sound.
    """

    @override
    def seekable(self) -> bool:
        """Never."""
        return False


class SoundFileReader:
    """Blocks of a file by libsndfile.

    Raises
    ------
    soundfile.LibsndfileError
        If it cannot be opened.
    """

    def __init__(self, path: Path) -> None:
        self._file = _Forward(str(path))
        self._path = path
        self._broken = False
        self.rate_hz: int = self._file.samplerate
        there = int(self._file.frames)
        frames = promised_aiff_frames(path) or promised_wave_frames(path, there) or there
        self.expected_frames: int | None = frames if 0 < frames < _HUGE_FRAMES else None
        self.lost: str | None = None

    def blocks(self) -> Iterator[Samples]:
        """Stereo blocks; sets ``lost`` at the end."""
        read, odd = 0, False
        with self._file:
            for part in self._parts():
                read += part.shape[0]
                block, odd_here = without_odd_samples(part)
                odd |= odd_here
                yield to_stereo(block)
        self.lost = self._what_is_lost(read, odd=odd)

    def _parts(self) -> Iterator[NDArray[np.float32]]:
        """Blocks out of small reads: what an error interrupts is lost, so it shall be little."""
        small: list[NDArray[np.float32]] = []
        count = BLOCK_FRAMES // _READ_FRAMES
        while True:
            try:
                part = self._file.read(_READ_FRAMES, dtype="float32", always_2d=True)
            except soundfile.LibsndfileError:
                self._broken = True
                part = np.zeros((0, 1), np.float32)
            if part.shape[0]:
                small.append(np.asarray(part, np.float32))
            if small and (part.shape[0] == 0 or len(small) == count):
                yield np.concatenate(small)
                small = []
            if part.shape[0] == 0:
                return

    def _what_is_lost(self, read: int, *, odd: bool) -> str | None:
        read_s = read / self.rate_hz
        expected_s = (self.expected_frames or 0) / self.rate_hz
        if expected_s - read_s > MISSING_S:
            return words.ends_early(read_s, expected_s)
        if self._broken:
            return words.broken_off(read_s)
        if self._file.format == "OGG" and not _ogg_is_whole(self._path):
            return words.cut_short()
        return words.ODD_SAMPLES if odd else None


def _ogg_is_whole(path: Path) -> bool:
    """Whether the last page is there to its end and carries the end-of-stream flag (RFC 3533, section 6)."""
    with path.open("rb") as file:
        file.seek(0, 2)
        file.seek(max(0, file.tell() - 66_000))  # a page is at most 65,307 bytes
        tail = file.read()
    at = tail.rfind(_OGG_PAGE)
    if at < 0 or at + _OGG_HEAD > len(tail):
        return False
    segments = tail[at + _OGG_HEAD : at + _OGG_HEAD + tail[at + _OGG_HEAD - 1]]
    whole = at + _OGG_HEAD + tail[at + _OGG_HEAD - 1] + sum(segments) <= len(tail)
    return whole and bool(tail[at + 5] & _OGG_END_FLAG)
