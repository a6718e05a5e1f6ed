"""A zoo of malformed files: each gives its sound with a word about the loss, or one clear sentence."""

import os
import re
import struct
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.audio.decode import FileDecoder
from coach.errors import CoachError, InputError, UnreadableFileError
from tests.audio import audio_files

STALL_S = 8.0
"""Bar of this project: no hang beyond 20 s."""
KINDS = ("wav", "aiff", "flac", "ogg", "opus", "mp3", "m4a", "aac", "webm")
LENGTH_S = 8.0


@pytest.fixture(scope="module")
def decoder() -> Iterator[FileDecoder]:
    made = FileDecoder(stall_s=STALL_S)
    yield made
    made.close()


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A sound file of each kind."""
    folder = tmp_path_factory.mktemp("whole")
    files = {}
    for kind in KINDS:
        rate_hz = 48_000 if kind in {"opus", "webm"} else audio_files.RATE_HZ
        path = folder / f"whole.{kind}"
        audio_files.write(path, audio_files.plucks(LENGTH_S, rate_hz))
        files[kind] = path.read_bytes()
    audio_files.write_by_ffmpeg(folder / "fast.m4a", audio_files.plucks(LENGTH_S), "aac", fast_start=True)
    files["fast.m4a"] = (folder / "fast.m4a").read_bytes()
    return files


def one_sentence(error: CoachError) -> bool:
    text = error.message
    return text.endswith(".") and text[0].isupper() and "\n" not in text and "Error" not in text


def outcome(decoder: FileDecoder, path: Path, data: bytes) -> tuple[float, str | None]:
    """Length and loss of what could be read; (0, sentence) where nothing could."""
    path.write_bytes(data)
    try:
        decoded = decoder.decode(path)
    except InputError as error:
        return 0.0, error.message if one_sentence(error) else None
    assert np.isfinite(decoded.stereo).all()
    return decoded.duration_s, decoded.lost


@pytest.mark.parametrize("kind", ["wav", "aiff", "flac", "ogg", "opus", "mp3", "aac", "webm", "fast.m4a"])
def test_half_a_file_gives_its_half_and_says_so(
    decoder: FileDecoder, whole: dict[str, bytes], tmp_path: Path, kind: str
) -> None:
    data = whole[kind]
    length_s, lost = outcome(decoder, tmp_path / f"half.{kind}", data[: len(data) // 2])
    assert 0.2 * LENGTH_S < length_s < 0.7 * LENGTH_S  # an ogg page that is cut is lost as a whole
    assert lost is not None
    assert lost.endswith(".")


@pytest.mark.parametrize("subtype", ["ULAW", "ALAW", "MS_ADPCM"])
def test_wav_of_an_unusual_codec_says_so_too(decoder: FileDecoder, tmp_path: Path, subtype: str) -> None:
    path = tmp_path / "whole.wav"
    soundfile.write(path, audio_files.plucks(LENGTH_S), audio_files.RATE_HZ, subtype=subtype)
    data = path.read_bytes()
    assert outcome(decoder, tmp_path / "same.wav", data)[1] is None
    length_s, lost = outcome(decoder, tmp_path / "half.wav", data[: len(data) // 2])
    assert length_s == pytest.approx(LENGTH_S / 2, abs=0.2)
    assert lost is not None
    assert re.search(r"of (7\.9|8\.0) seconds could be read", lost)


@pytest.mark.parametrize("kind", ["ogg", "opus"])
def test_an_ogg_whose_last_page_is_cut_says_so(
    decoder: FileDecoder, whole: dict[str, bytes], tmp_path: Path, kind: str
) -> None:
    length_s, lost = outcome(decoder, tmp_path / f"cut.{kind}", whole[kind][:-300])
    assert length_s > 0.5 * LENGTH_S
    assert lost is not None


@pytest.mark.parametrize("kind", [*KINDS, "fast.m4a"])
def test_damage_anywhere_ends_in_sound_or_a_sentence(
    decoder: FileDecoder, whole: dict[str, bytes], tmp_path: Path, kind: str
) -> None:
    rng = np.random.default_rng(7)
    data = whole[kind]
    third = len(data) // 3
    damaged = {
        "head": data[:40],
        "three": data[:3],
        "hole": data[:third] + bytes(third // 4) + data[third + third // 4 :],
        "before": rng.bytes(3_000) + data,
        "behind": data + rng.bytes(3_000),
    }
    for number in range(3):
        scattered = np.frombuffer(data, np.uint8).copy()
        among = len(data) if number else min(len(data), 200)
        scattered[rng.integers(0, among, 40)] = rng.integers(0, 256, 40)
        damaged[f"noise{number}"] = scattered.tobytes()
    for name, bytes_ in damaged.items():
        length_s, said = outcome(decoder, tmp_path / f"{name}.{kind}", bytes_)
        # Broken numbers inside an uncompressed sound, or in a stream that tells no length, cannot be noticed.
        assert length_s > 0.0 or said is not None


def test_no_moov_atom_is_said_at_once(decoder: FileDecoder, whole: dict[str, bytes], tmp_path: Path) -> None:
    length_s, said = outcome(decoder, tmp_path / "half.m4a", whole["m4a"][: len(whole["m4a"]) // 2])
    assert length_s == 0.0
    assert said is not None
    assert "again" in said


NOT_AUDIO = {
    "text.mp3": b"hello\n" * 500,
    "zeros.mp3": bytes(50_000),
    "ones.mp3": b"\xff" * 50_000,
    "picture.wav": b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8,
    "page.m4a": b"%PDF-1.4\n" + bytes(range(256)) * 8,
    "archive.flac": b"PK\x03\x04" + bytes(range(256)) * 8,
    "list.mp3": b"#EXTM3U\n#EXTINF:10,\nhttp://127.0.0.1:9/a.mp3\n",
    "join.wav": b"ffconcat version 1.0\nfile 'other.wav'\n",
    "raw.raw": bytes(range(256)) * 40,
    "headless.gsm": bytes(range(256)) * 40,
    "keys.mid": b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk\0\0\0\4\0\xff\x2f\0",
}


@pytest.mark.parametrize("name", NOT_AUDIO)
def test_what_is_not_audio_is_refused(decoder: FileDecoder, tmp_path: Path, name: str) -> None:
    length_s, said = outcome(decoder, tmp_path / name, NOT_AUDIO[name])
    assert length_s == 0.0
    assert said is not None
    assert "choose" in said


def wav(sound: bytes, *, tag: int = 1, channels: int = 2, rate_hz: int = 44_100, bits: int = 16,
        block: int = 4, riff: int | None = None, data: int | None = None) -> bytes:  # fmt: skip
    """A wav file with whatever numbers in its header."""
    riff = len(sound) + 36 if riff is None else riff
    data = len(sound) if data is None else data
    chunk = struct.pack("<IHHIIHH", 16, tag, channels, rate_hz, 176_400, block, bits)
    return b"RIFF" + struct.pack("<I", riff) + b"WAVEfmt " + chunk + b"data" + struct.pack("<I", data) + sound


WAV_HEADERS = {
    "rate0": {"rate_hz": 0},
    "rate1": {"rate_hz": 1},
    "rate4G": {"rate_hz": 0xFFFF_FFFF},
    "no channel": {"channels": 0},
    "65535 channels": {"channels": 65_535},
    "no block": {"block": 0},
    "odd block": {"block": 3},
    "no bits": {"bits": 0},
    "7 bits": {"bits": 7},
    "unknown codec": {"tag": 0xFFFF},
    "mp3 inside": {"tag": 85},
    "adpcm without block": {"tag": 2},
}


@pytest.mark.parametrize("name", WAV_HEADERS)
def test_wav_headers_that_lie_do_no_harm(decoder: FileDecoder, tmp_path: Path, name: str) -> None:
    sound = bytes(range(256)) * 100
    length_s, said = outcome(decoder, tmp_path / "lie.wav", wav(sound, **WAV_HEADERS[name]))
    assert length_s > 0.0 or said is not None


@pytest.mark.parametrize(
    ("sizes", "told"),
    [
        ({"riff": 0, "data": 0}, False),
        ({"riff": 0xFFFF_FFFF, "data": 0xFFFF_FFFF}, False),
        ({"data": 0x7FFF_FFFF}, True),
        ({"data": 0x8000_0000}, True),
    ],
)
def test_wav_of_a_recorder_that_was_switched_off_is_read_to_its_end(
    decoder: FileDecoder, tmp_path: Path, sizes: dict[str, int], told: bool,  # noqa: FBT001
) -> None:  # fmt: skip
    length_s, said = outcome(decoder, tmp_path / "off.wav", wav(bytes(176_400), **sizes))
    assert length_s == pytest.approx(1.0)
    assert (said is not None) == told


def test_ten_thousand_chunks_are_no_way_round(decoder: FileDecoder, tmp_path: Path) -> None:
    data = wav(b"")[:12] + b"junk\0\0\0\0" * 10_000
    assert outcome(decoder, tmp_path / "chunks.wav", data)[0] == 0.0


def test_samples_that_are_no_numbers_become_silence(decoder: FileDecoder, tmp_path: Path) -> None:
    sound = audio_files.plucks(1.0)
    sound[1_000:1_100] = np.nan
    sound[2_000] = 1e30
    soundfile.write(tmp_path / "odd.wav", sound, 44_100, subtype="FLOAT")
    decoded = decoder.decode(tmp_path / "odd.wav")
    assert not decoded.stereo[1_000:1_100].any()
    assert not decoded.stereo[2_000].any()
    assert decoded.lost is not None


def test_flac_without_a_told_length_is_read_whole(
    decoder: FileDecoder, whole: dict[str, bytes], tmp_path: Path
) -> None:
    data = bytearray(whole["flac"])  # total samples: 36 bits from byte 21 on (RFC 9639, section 8.2)
    data[21] &= 0xF0
    data[22:26] = bytes(4)
    length_s, said = outcome(decoder, tmp_path / "stream.flac", bytes(data))
    assert length_s == pytest.approx(LENGTH_S)
    assert said is None


def _folder(path: Path) -> None:
    path.mkdir()


def _nothing(path: Path) -> None:
    pass


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _pipe(path: Path) -> None:
    os.mkfifo(path)


@pytest.mark.parametrize(
    ("make", "word"), [(_nothing, "no such"), (_folder, "folder"), (_empty, "empty"), (_pipe, "ordinary")]
)
def test_no_file_to_read(
    decoder: FileDecoder, tmp_path: Path, make: Callable[[Path], None], word: str
) -> None:
    make(tmp_path / "it")
    with pytest.raises(UnreadableFileError, match=word) as raised:
        decoder.decode(tmp_path / "it")
    assert one_sentence(raised.value)


def test_a_file_that_broke_the_child_does_not_spoil_the_next(
    decoder: FileDecoder, whole: dict[str, bytes], tmp_path: Path
) -> None:
    (tmp_path / "good.flac").write_bytes(whole["flac"])
    decoder.decode(tmp_path / "good.flac")
    assert decoder._child is not None
    decoder._child.kill()
    assert decoder.decode(tmp_path / "good.flac").duration_s == pytest.approx(LENGTH_S)
