"""``coach slow`` by its contract."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.command_line import coach
from tests.synth import pluck

RATE_HZ = 44_100
KEYS = ["input", "out", "speed", "shift_semitones", "rate_hz", "duration_s", "lost"]
NULL_DB = -100.0
"""Bar of this project: at full speed nothing audible changes."""
LENGTH_S = 0.005


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    notes = [pluck(hz, 0.5, rate_hz=RATE_HZ) for hz in (196.0, 220.0, 246.9)]
    path = tmp_path_factory.mktemp("slow") / "tune.wav"
    soundfile.write(path, np.concatenate(notes), RATE_HZ)
    return path


def test_half_speed_takes_twice_as_long(recording: Path, tmp_path: Path) -> None:
    target = tmp_path / "new" / "half.flac"
    code, out = coach(tmp_path, "slow", str(recording), "--speed", "0.5", "--out", str(target), "--json")
    assert code == 0
    (line,) = out.splitlines()
    value = json.loads(line)
    assert list(value) == KEYS
    assert value["duration_s"] == pytest.approx(3.0, abs=LENGTH_S)
    assert soundfile.info(target).duration == pytest.approx(3.0, abs=LENGTH_S)
    assert soundfile.info(target).samplerate == RATE_HZ


def test_full_speed_is_the_same_sound(recording: Path, tmp_path: Path) -> None:
    target = tmp_path / "same.wav"
    assert coach(tmp_path, "slow", str(recording), "--speed", "1", "--out", str(target))[0] == 0
    before, _ = soundfile.read(recording, always_2d=True)
    after, _ = soundfile.read(target)
    error = after - before
    assert 10 * np.log10(np.mean(error**2) / np.mean(before**2) + 1e-30) <= NULL_DB


def test_shift_moves_the_pitch(recording: Path, tmp_path: Path) -> None:
    target = tmp_path / "up.wav"
    words = ("--speed", "1", "--shift", "12", "--out", str(target))
    code, out = coach(tmp_path, "slow", str(recording), *words)
    assert code == 0
    assert "12 semitones" in out
    sound, _ = soundfile.read(target)
    part = sound[4_000:20_000, 0]
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 1 << 18))
    assert np.argmax(spectrum) * RATE_HZ / (1 << 18) == pytest.approx(392.0, rel=0.002)


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--speed", "0.5"),
        ("--speed", "0", "--out", "x.wav"),
        ("--speed", "nan", "--out", "x.wav"),
        ("--speed", "half", "--out", "x.wav"),
        ("--speed", "0.5", "--out", "x.wav", "--shift", "99"),
        ("--speed", "0.5", "--out", "x.mp3"),
    ],
)
def test_wrong_words(recording: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    assert coach(tmp_path, "slow", str(recording), *words, "--json") == (2, "")


def test_the_recording_is_never_overwritten(recording: Path, tmp_path: Path) -> None:
    words = ("--speed", "0.5", "--out", str(recording), "--json")
    assert coach(tmp_path, "slow", str(recording), *words) == (2, "")


def test_a_missing_file_is_an_error_value(tmp_path: Path) -> None:
    words = ("--speed", "0.5", "--out", str(tmp_path / "x.wav"), "--json")
    code, out = coach(tmp_path, "slow", str(tmp_path / "none.wav"), *words)
    assert code == 1
    assert json.loads(out)["error"]["code"] == "unreadable"
    assert not (tmp_path / "x.wav").exists()
