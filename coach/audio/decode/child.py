"""The child process: decodes whatever the parent names, in limits of memory, until its input ends.

A decoder library may crash, hang or take all memory on a malformed file: it takes only this process with it.
"""

import json
import os
import signal
import sys
from pathlib import Path
from typing import BinaryIO

import numpy as np

from coach.audio.decode import words
from coach.audio.decode.blocks import BlockReader
from coach.audio.decode.kinds import Kind
from coach.audio.decode.limits import CHILD_MEMORY_BYTES, MAX_RATE_HZ, MIN_RATE_HZ
from coach.audio.decode.protocol import Word, write_json, write_packet


class _FailedError(Exception):
    """Carries the protocol's word for why nothing can be read."""


def _limit_memory() -> None:
    """Cap the address space where the system can (POSIX)."""
    if sys.platform != "win32":
        import resource  # noqa: PLC0415  not on Windows

        _, hard = resource.getrlimit(resource.RLIMIT_AS)
        soft = CHILD_MEMORY_BYTES if hard == resource.RLIM_INFINITY else min(CHILD_MEMORY_BYTES, hard)
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


def _by_libsndfile(path: Path) -> BlockReader | None:
    import soundfile  # noqa: PLC0415  each library is loaded when a file first needs it

    from coach.audio.decode.sound_file import SoundFileReader  # noqa: PLC0415

    try:
        return SoundFileReader(path)
    except soundfile.LibsndfileError:
        return None


def _by_ffmpeg(path: Path, kind: Kind) -> BlockReader:
    try:
        import av  # noqa: PLC0415

        from coach.audio.decode.ffmpeg_file import FfmpegReader, NoSoundError  # noqa: PLC0415
    except ImportError:
        raise _FailedError("no_codec") from None
    try:
        return FfmpegReader(path)
    except NoSoundError:
        raise _FailedError("no_sound") from None
    except (av.error.FFmpegError, ValueError):
        raise _FailedError("not_audio" if kind is Kind.UNKNOWN else "damaged") from None


def _sane(reader: BlockReader | None) -> bool:
    return reader is not None and MIN_RATE_HZ <= reader.rate_hz <= MAX_RATE_HZ


def _send(reader: BlockReader, to: BinaryIO) -> int:
    """Send head and blocks; the number of frames."""
    head: dict[str, object] = {"rate_hz": reader.rate_hz, "expected_frames": reader.expected_frames}
    write_json(to, Word.HEAD, head)
    frames = 0
    for block in reader.blocks():
        frames += block.shape[0]
        write_packet(to, Word.BLOCK, np.ascontiguousarray(block, np.float32).tobytes())
    return frames


def _answer(path: Path, kind: Kind, to: BinaryIO) -> None:
    """Let libsndfile read what it knows, and FFmpeg what it does not know or cannot read whole."""
    headless = path.suffix.lower() in {".raw", ".vox", ".gsm", ".g721", ".g723"}  # taken by its name alone
    if kind in {Kind.WAVE, Kind.SOUND_FILE, Kind.MPEG} and not headless:
        reader = _by_libsndfile(path)
        # A length that is not told ahead is no fault, but libsndfile cannot tell such an end from damage.
        if reader is not None and _sane(reader) and reader.expected_frames is not None:
            frames = _send(reader, to)
            if frames and reader.lost in {None, words.ODD_SAMPLES}:
                write_json(to, Word.END, {"lost": reader.lost})
                return
            write_json(to, Word.ANEW, {"lost": reader.lost})
    other = _by_ffmpeg(path, kind)
    if not _sane(other):
        raise _FailedError("not_audio" if kind is Kind.UNKNOWN else "damaged")
    _send(other, to)
    write_json(to, Word.END, {"lost": other.lost})


def answer(path: Path, kind: Kind, to: BinaryIO) -> None:
    """Decode one file into packets."""
    try:
        _answer(path, kind, to)
    except _FailedError as failure:
        write_json(to, Word.FAILED, {"reason": str(failure)})
    except (OSError, MemoryError):
        write_json(to, Word.FAILED, {"reason": "damaged"})


def main() -> None:
    """Serve until standard input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's business
    # Libraries that chatter on standard output must not get into the packets.
    packets = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    _limit_memory()
    with packets:
        for line in sys.stdin.buffer:
            request = json.loads(line)
            answer(Path(request["path"]), Kind(request["kind"]), packets)
