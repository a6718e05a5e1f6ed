"""``coach hint`` by its contract: the note stays hidden until the last step."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.music.tuning_system import midi_to_hz
from tests.command_line import coach
from tests.synth import pluck

KEYS = ["line", "from_s", "to_s", "asked_midi", "step", "direction", "within_a_tone", "midi"]


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rate = 44100
    tune = np.concatenate([pluck(midi_to_hz(m), 0.5, rate_hz=rate) for m in (64, 67, 69, 72)])
    path = tmp_path_factory.mktemp("hint") / "tune.wav"
    soundfile.write(path, 0.8 * tune, rate)
    return path


def hint(tmp_path: Path, recording: Path, note: str, step: str, *more: str) -> tuple[int, str]:
    span = ("--line", "melody", "--from", "0.5", "--to", "1.0")
    return coach(tmp_path, "hint", str(recording), *span, "--note", note, "--step", step, *more)


def test_the_ladder(recording: Path, tmp_path: Path) -> None:
    values = []
    for step in ("direction", "near", "reveal"):
        code, out = hint(tmp_path, recording, "F4", step, "--json")
        assert code == 0
        values.append(json.loads(out))
    assert all(list(value) == KEYS for value in values)
    assert [value["direction"] for value in values] == ["higher"] * 3
    assert [value["within_a_tone"] for value in values] == [None, True, True]
    assert [value["midi"] for value in values] == [None, None, 67]
    assert all(value["asked_midi"] == 65 for value in values)


def test_text_for_people(recording: Path, tmp_path: Path) -> None:
    told = "It lies lower in sound. It lies more than two frets away. It is G4.\n"
    assert hint(tmp_path, recording, "C5", "reveal") == (0, told)


def test_wrong_words(recording: Path, tmp_path: Path) -> None:
    assert hint(tmp_path, recording, "F4", "all", "--json") == (2, "")
