"""The `Decoder` port: checks the file, picks the reader, keeps the limits."""

import hashlib
import json
import stat
import threading
from pathlib import Path
from typing import assert_never

import numpy as np

from coach.audio.decode import words
from coach.audio.decode.blocks import BlockReader
from coach.audio.decode.child_process import ChildProcess
from coach.audio.decode.kinds import Kind, kind_of
from coach.audio.decode.limits import MAX_BYTES, STALL_S
from coach.audio.decode.protocol import Word
from coach.audio.decode.reading import Reading
from coach.audio.decode.wave_file import open_wave
from coach.errors import CoachError, MissingPartError, TooLargeError, UnreadableFileError
from coach.sessions.ports import DecodedAudio, Jobs

_POLL_S = 0.1


class _NoJobs:
    """Progress told to nobody."""

    def progress(self, share: float, what: str) -> None:
        """Do nothing."""


class FileDecoder:
    """Reads wav, aiff, flac, ogg, opus, mp3, m4a and what else libsndfile and FFmpeg know.

    Plain wav files are read in this process by code of our own; all others by a child process that is kept
    warm for the next file and ended when it stands still, eats memory or crashes. May be called from any
    thread; such files are decoded one after the other.

    Parameters
    ----------
    stall_s
        Longest time without progress.
    """

    def __init__(self, *, stall_s: float = STALL_S) -> None:
        self._stall_s = stall_s
        self._child: ChildProcess | None = None
        self._lock = threading.Lock()

    def decode(self, path: Path, jobs: Jobs | None = None) -> DecodedAudio:
        """Read a file, in limits of time, memory and length (20 minutes).

        Raises
        ------
        UnreadableFileError, TooLargeError, MissingPartError, CancelledError
            With a sentence that says what to do.
        """
        path = path.absolute()
        reading = Reading(_checked_size(path), jobs if jobs is not None else _NoJobs())
        reading.tell()
        try:
            with path.open("rb") as file:
                kind = kind_of(file)
                plain = open_wave(file, reading.size_bytes) if kind is Kind.WAVE else None
                if plain is not None:
                    _read_plain(plain, reading)
                else:
                    with self._lock:
                        self._by_child(path, kind, reading)
                file.seek(0)
                sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        except PermissionError:
            raise UnreadableFileError(
                "The file may not be read: allow it, or copy it to another place."
            ) from None
        except OSError:
            raise UnreadableFileError(
                "The file cannot be read from its disk: copy it to another place."
            ) from None
        return reading.finished(sha256)

    def close(self) -> None:
        """End the child process; the next file starts another."""
        with self._lock:
            if self._child is not None:
                self._child.close()
                self._child = None

    def _by_child(self, path: Path, kind: Kind, reading: Reading) -> None:
        """Let the child decode; it is given up if it does not end its answer."""
        child = self._child
        if child is None or child.dead:
            child = ChildProcess()
        self._child = None
        try:
            child.ask(path, kind)
            self._collect(child, reading)
            if not child.dead:
                self._child, child = child, None
        finally:
            if child is not None:
                child.kill()

    def _collect(self, child: ChildProcess, reading: Reading) -> None:
        quiet_s = 0.0
        while True:
            try:
                packet = child.packet(_POLL_S)
            except TimeoutError:
                quiet_s += _POLL_S
                reading.tell()
                if quiet_s >= self._stall_s:
                    child.kill()
                    reading.break_off(words.stuck())
                    return
                continue
            quiet_s = 0.0
            if packet is None:
                child.kill()
                reading.break_off(words.damaged())
                return
            if _took_last(packet, reading):
                return


def _took_last(packet: tuple[Word, bytes], reading: Reading) -> bool:
    """Take a packet into the reading; whether it was the answer's last."""
    word, body = packet
    match word:
        case Word.HEAD:
            head = json.loads(body)
            reading.begin(head["rate_hz"], head["expected_frames"])
        case Word.BLOCK:
            reading.add(np.frombuffer(body, np.float32).reshape(-1, 2))
        case Word.ANEW:
            reading.set_aside(json.loads(body)["lost"])
        case Word.END:
            reading.end(json.loads(body)["lost"])
        case Word.FAILED:
            reading.break_off(_failure(json.loads(body)["reason"]))
        case _:
            assert_never(word)
    return word in {Word.END, Word.FAILED}


def _failure(reason: str) -> CoachError:
    match reason:
        case "not_audio":
            return words.not_audio()
        case "no_sound":
            return words.silent_file()
        case "no_codec":
            return MissingPartError(
                "The part that reads m4a and similar files is not installed: install the Python package av, "
                "or choose a wav, flac, ogg or mp3 file."
            )
        case _:
            return words.damaged()


def _checked_size(path: Path) -> int:
    """Size of a regular, non-empty file in limits."""
    try:
        status = path.stat()
    except (OSError, ValueError):
        raise UnreadableFileError("There is no such file: check its name and folder.") from None
    if stat.S_ISDIR(status.st_mode):
        raise UnreadableFileError("This is a folder: choose an audio file in it.")
    if not stat.S_ISREG(status.st_mode):
        raise UnreadableFileError("This is not an ordinary file: choose an audio file.")
    if status.st_size == 0:
        raise UnreadableFileError("The file is empty: copy or record it again.")
    if status.st_size > MAX_BYTES:
        raise TooLargeError("The file is larger than 1 GB: cut out the part with the piece and choose that.")
    return status.st_size


def _read_plain(reader: BlockReader, reading: Reading) -> None:
    reading.begin(reader.rate_hz, reader.expected_frames)
    for block in reader.blocks():
        reading.add(block)
    reading.end(reader.lost)
