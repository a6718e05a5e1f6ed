"""Files written and read back, whole or not at all."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.audio import encode
from coach.audio.encode import FileEncoder
from coach.errors import InputError, StoreError
from tests.audio import audio_files


@pytest.mark.parametrize("kind", ["wav", "flac"])
def test_lossless_kinds_keep_every_16_bit_sample(tmp_path: Path, kind: str) -> None:
    sound = np.round(audio_files.plucks(0.5) * 32_768) / np.float32(32_768)
    FileEncoder().encode(tmp_path / f"x.{kind}", sound, 44_100)
    read, rate_hz = soundfile.read(tmp_path / f"x.{kind}", dtype="float32")
    assert rate_hz == 44_100
    assert np.allclose(read, sound, atol=2**-23)


def test_mono_stays_mono_and_ogg_is_written(tmp_path: Path) -> None:
    FileEncoder().encode(tmp_path / "deep" / "x.OGG", audio_files.plucks(0.5)[:, 0], 48_000)
    info = soundfile.info(tmp_path / "deep" / "x.OGG")
    assert (info.channels, info.samplerate, info.format) == (1, 48_000, "OGG")


def test_a_wav_beyond_full_scale_is_not_clipped(tmp_path: Path) -> None:
    sound = np.full((100, 2), 1.5, np.float32)
    FileEncoder().encode(tmp_path / "x.wav", sound, 44_100)
    assert np.array_equal(soundfile.read(tmp_path / "x.wav", dtype="float32")[0], sound)
    FileEncoder().encode(tmp_path / "x.flac", sound, 44_100)
    assert soundfile.read(tmp_path / "x.flac")[0].max() == pytest.approx(1.0, abs=1e-6)


def test_an_unknown_ending_is_an_input_error(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\.flac"):
        FileEncoder().encode(tmp_path / "x.mp3", audio_files.plucks(0.1), 44_100)


def test_a_failed_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.wav"
    FileEncoder().encode(path, audio_files.plucks(0.1), 44_100)
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError

    monkeypatch.setattr(encode, "_write", full)
    with pytest.raises(StoreError, match="free space"):
        FileEncoder().encode(path, audio_files.plucks(0.2), 44_100)
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["x.wav"]
