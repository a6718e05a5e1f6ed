"""Limits of time and length, progress and cancelling, with a child that misbehaves at will."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.audio.decode import FileDecoder, limits, reader, reading
from coach.audio.decode.child_process import Packet
from coach.audio.decode.kinds import Kind
from coach.audio.decode.protocol import Word
from coach.errors import CancelledError, MissingPartError, TooLargeError, UnreadableFileError
from tests.audio import audio_files


class StubChild:
    """Gives prepared packets, then nothing (or the end)."""

    packets: tuple[Packet, ...] = ()
    ends = False

    def __init__(self) -> None:
        self._waiting = list(self.packets)
        self.dead = False

    def ask(self, path: Path, kind: Kind) -> None:
        pass

    def packet(self, timeout_s: float) -> Packet | None:
        if self._waiting:
            return self._waiting.pop(0)
        if self.ends:
            return None
        raise TimeoutError

    def kill(self) -> None:
        self.dead = True

    close = kill


class Watched:
    """Counts progress; stops the job after so many reports."""

    def __init__(self, most: int | None = None) -> None:
        self.shares: list[float] = []
        self._most = most

    def progress(self, share: float, what: str) -> None:
        self.shares.append(share)
        if self._most is not None and len(self.shares) > self._most:
            raise CancelledError("Stopped.")


HEAD = (Word.HEAD, b'{"rate_hz": 44100, "expected_frames": 88200}')
SECOND = (Word.BLOCK, np.full((44_100, 2), 0.5, np.float32).tobytes())


@pytest.fixture
def flac(tmp_path: Path) -> Path:
    path = tmp_path / "sound.flac"
    audio_files.write(path, audio_files.plucks(1.0))
    return path


def stub(monkeypatch: pytest.MonkeyPatch, *packets: Packet, ends: bool = False) -> None:
    monkeypatch.setattr(StubChild, "packets", packets)
    monkeypatch.setattr(StubChild, "ends", ends)
    monkeypatch.setattr(reader, "ChildProcess", StubChild)


def test_a_child_that_stands_still_is_given_up(monkeypatch: pytest.MonkeyPatch, flac: Path) -> None:
    stub(monkeypatch)
    with pytest.raises(UnreadableFileError, match="standstill"):
        FileDecoder(stall_s=0.3).decode(flac)


def test_what_came_before_a_standstill_is_kept(monkeypatch: pytest.MonkeyPatch, flac: Path) -> None:
    stub(monkeypatch, HEAD, SECOND)
    decoded = FileDecoder(stall_s=0.3).decode(flac)
    assert decoded.duration_s == 1.0
    assert decoded.lost is not None


@pytest.mark.parametrize("packets", [(), (HEAD,)])
def test_a_child_that_dies_is_a_damaged_file(
    monkeypatch: pytest.MonkeyPatch, flac: Path, packets: tuple[Packet, ...]
) -> None:
    stub(monkeypatch, *packets, ends=True)
    with pytest.raises(UnreadableFileError, match="damaged"):
        FileDecoder().decode(flac)


def test_the_longer_of_two_readings_is_taken(monkeypatch: pytest.MonkeyPatch, flac: Path) -> None:
    anew = (Word.ANEW, b'{"lost": "The first sentence."}')
    end = (Word.END, b'{"lost": null}')
    stub(monkeypatch, HEAD, SECOND, anew, HEAD, SECOND, SECOND, end)
    decoded = FileDecoder().decode(flac)
    assert decoded.duration_s == 2.0
    assert decoded.lost == "Parts of the file are damaged and were left out."
    stub(monkeypatch, HEAD, SECOND, anew, (Word.FAILED, b'{"reason": "damaged"}'))
    decoded = FileDecoder().decode(flac)
    assert decoded.duration_s == 1.0
    assert decoded.lost == "The first sentence."


def test_a_missing_codec_says_what_to_install(monkeypatch: pytest.MonkeyPatch, flac: Path) -> None:
    stub(monkeypatch, (Word.FAILED, b'{"reason": "no_codec"}'))
    with pytest.raises(MissingPartError, match="install"):
        FileDecoder().decode(flac)


def test_cancelling_ends_the_child(monkeypatch: pytest.MonkeyPatch, flac: Path) -> None:
    stub(monkeypatch, HEAD, SECOND)
    decoder = FileDecoder()
    with pytest.raises(CancelledError):
        decoder.decode(flac, Watched(most=2))
    assert decoder._child is None


def test_progress_rises_to_one(flac: Path) -> None:
    watched = Watched()
    decoder = FileDecoder()
    decoder.decode(flac, watched)
    decoder.close()
    assert watched.shares == sorted(watched.shares)
    assert watched.shares[0] == 0.0
    assert watched.shares[-1] == 1.0


def test_too_long_is_told_by_the_header_and_by_the_sound(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "long.wav"
    soundfile.write(path, np.zeros((2 * 8_000, 2), np.float32), 8_000)
    monkeypatch.setattr(reading, "MAX_LENGTH_S", 1)
    with pytest.raises(TooLargeError, match="longer than"):
        FileDecoder().decode(path)
    long = (Word.HEAD, b'{"rate_hz": 44100, "expected_frames": null}')
    audio_files.write(tmp_path / "long.flac", audio_files.plucks(1.0))
    stub(monkeypatch, long, SECOND, SECOND)
    with pytest.raises(TooLargeError):
        FileDecoder().decode(tmp_path / "long.flac")


def test_too_large_a_file_is_not_even_opened(monkeypatch: pytest.MonkeyPatch, flac: Path) -> None:
    monkeypatch.setattr(reader, "MAX_BYTES", 100)
    with pytest.raises(TooLargeError, match="larger"):
        FileDecoder().decode(flac)


def test_limits_are_those_promised() -> None:
    assert limits.MAX_LENGTH_S == 20 * 60
    assert limits.STALL_S <= 20.0
