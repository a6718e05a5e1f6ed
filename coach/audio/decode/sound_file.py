"""Files that libsndfile reads (aiff, flac, ogg, opus, mp3, unusual wav); only in the child process."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile

from coach.audio.decode import words
from coach.audio.decode.blocks import to_stereo, without_odd_samples
from coach.audio.decode.limits import BLOCK_FRAMES, MISSING_S
from coach.sessions.ports import Samples

_OGG_PAGE, _OGG_END_FLAG = b"OggS", 4
_HUGE_FRAMES = 1 << 48


class SoundFileReader:
    """Blocks of a file by libsndfile.

    Raises
    ------
    soundfile.LibsndfileError
        If it cannot be opened.
    """

    def __init__(self, path: Path) -> None:
        self._file = soundfile.SoundFile(str(path))
        self._path = path
        self.rate_hz: int = self._file.samplerate
        frames = int(self._file.frames)
        self.expected_frames: int | None = frames if 0 < frames < _HUGE_FRAMES else None
        self.lost: str | None = None

    def blocks(self) -> Iterator[Samples]:
        """Stereo blocks; sets ``lost`` at the end."""
        read, odd, broken = 0, False, False
        with self._file as file:
            while True:
                try:
                    block = file.read(BLOCK_FRAMES, dtype="float32", always_2d=True)
                except soundfile.LibsndfileError:
                    broken = True
                    break
                if block.shape[0] == 0:
                    break
                read += block.shape[0]
                block, odd_here = without_odd_samples(np.asarray(block, np.float32))
                odd |= odd_here
                yield to_stereo(block)
        self.lost = self._what_is_lost(read, odd=odd, broken=broken)

    def _what_is_lost(self, read: int, *, odd: bool, broken: bool) -> str | None:
        read_s = read / self.rate_hz
        expected_s = (self.expected_frames or 0) / self.rate_hz
        if expected_s - read_s > MISSING_S:
            return words.ends_early(read_s, expected_s)
        if broken:
            return words.broken_off(read_s)
        if self._file.format == "OGG" and not _ogg_is_whole(self._path):
            return words.cut_short()
        return words.ODD_SAMPLES if odd else None


def _ogg_is_whole(path: Path) -> bool:
    """Whether the last page carries the end-of-stream flag (RFC 3533, section 6)."""
    with path.open("rb") as file:
        file.seek(0, 2)
        file.seek(max(0, file.tell() - 66_000))  # a page is at most 65,307 bytes
        tail = file.read()
    at = tail.rfind(_OGG_PAGE)
    return at >= 0 and at + 5 < len(tail) and bool(tail[at + 5] & _OGG_END_FLAG)
