"""Every kind of file gives back the sound that was put in, from its first sample on."""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.audio.decode import FileDecoder
from tests.audio import audio_files

LOSSY_DB = -20.0
"""A perceptual codec keeps its error this far below plain tones (common practice, no source)."""


@pytest.fixture(scope="module")
def decoder() -> Iterator[FileDecoder]:
    made = FileDecoder()
    yield made
    made.close()


@pytest.mark.parametrize("kind", [*audio_files.SOUND_FILE_KINDS, "opus", *audio_files.FFMPEG_KINDS])
def test_kind_begins_with_its_first_sample(decoder: FileDecoder, tmp_path: Path, kind: str) -> None:
    rate_hz = 48_000 if kind in {"opus", "webm"} else audio_files.RATE_HZ
    sound = audio_files.plucks(rate_hz=rate_hz)
    path = tmp_path / f"sound.{kind}"
    audio_files.write(path, sound)

    decoded = decoder.decode(path)

    assert decoded.rate_hz == rate_hz
    assert decoded.lost is None
    assert decoded.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert decoded.stereo.dtype == np.float32
    assert audio_files.lag_samples(decoded.stereo[:, 0], sound[:, 0]) == 0
    if kind != "aac":  # a bare stream of frames does not tell how long its last one is
        assert decoded.stereo.shape == sound.shape
    error = decoded.stereo[: len(sound)] - sound
    assert 10 * np.log10(np.mean(error**2) / np.mean(sound**2)) < LOSSY_DB


@pytest.mark.parametrize("kind", ["mp3", "ogg", "opus", "flac"])
def test_blocks_join_without_a_trace(decoder: FileDecoder, tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"sound.{kind}"
    audio_files.write(path, audio_files.plucks(5.0, 48_000 if kind == "opus" else 44_100))
    at_one_go, _ = soundfile.read(path, dtype="float32")
    assert np.allclose(decoder.decode(path).stereo, at_one_go, atol=1e-6)


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
def test_own_wav_reader_agrees_with_libsndfile(decoder: FileDecoder, tmp_path: Path, subtype: str) -> None:
    sound = audio_files.plucks(0.5)
    path = tmp_path / "sound.wav"
    soundfile.write(path, sound, 44_100, subtype=subtype)
    expected, _ = soundfile.read(path, dtype="float32")
    assert np.array_equal(decoder.decode(path).stereo, expected)


def test_plain_wav_needs_no_child_process(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "sound.wav", audio_files.plucks(0.1), 44_100)
    decoder = FileDecoder()
    decoder.decode(tmp_path / "sound.wav")
    assert decoder._child is None


def test_mono_is_doubled_and_many_channels_are_averaged(decoder: FileDecoder, tmp_path: Path) -> None:
    sound = audio_files.plucks(0.3)
    soundfile.write(tmp_path / "one.flac", sound[:, 0], 44_100)
    soundfile.write(tmp_path / "four.wav", np.hstack([sound, sound]), 44_100, subtype="FLOAT")
    one = decoder.decode(tmp_path / "one.flac").stereo
    assert np.array_equal(one[:, 0], one[:, 1])
    four = decoder.decode(tmp_path / "four.wav").stereo
    assert np.allclose(four[:, 0], sound.mean(axis=1), atol=1e-6)


def test_one_child_serves_many_files(decoder: FileDecoder, tmp_path: Path) -> None:
    audio_files.write(tmp_path / "a.flac", audio_files.plucks(0.2))
    audio_files.write(tmp_path / "b.m4a", audio_files.plucks(0.2))
    decoder.decode(tmp_path / "a.flac")
    assert decoder._child is not None
    first = decoder._child.pid
    decoder.decode(tmp_path / "b.m4a")
    assert decoder._child.pid == first


def test_name_does_not_matter(decoder: FileDecoder, tmp_path: Path) -> None:
    audio_files.write(tmp_path / "sound.flac", audio_files.plucks(0.2))
    for name in ("sound.raw", "sound", "sound.mp3", "тест ♪ é.dat"):
        path = tmp_path / name
        path.write_bytes((tmp_path / "sound.flac").read_bytes())
        assert decoder.decode(path).rate_hz == 44_100
