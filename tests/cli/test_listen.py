"""``coach listen`` by its contract: words, JSON, errors, exit codes."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.music.tuning_system import midi_to_hz
from tests import synth
from tests.command_line import coach

KEYS = ["input", "a4_hz", "engine", "duration_s", "notes", "frames"]
NOTE_KEYS = {"start_s", "end_s", "midi", "first_midi", "cents", "confidence", "decided_s"}
FRAME_KEYS = {"time_s", "f0_hz", "confidence", "voiced", "decided_s"}
MIDIS = [52, 57, 64]
STARTS_S = [0.3, 0.9, 1.5]
ONSET_S = 0.05
"""mir_eval.transcription: an onset is right within 50 ms."""


@pytest.fixture(scope="module")
def tune(tmp_path_factory: pytest.TempPathFactory) -> Path:
    parts = [
        (s, synth.pluck(midi_to_hz(m), 0.55, rate_hz=44_100)) for s, m in zip(STARTS_S, MIDIS, strict=True)
    ]
    path = tmp_path_factory.mktemp("listen") / "tune.wav"
    soundfile.write(path, synth.place(parts, 2.2, rate_hz=44_100), 44_100)
    return path


@pytest.mark.parametrize("engine", ["neural", "yin"])
def test_notes_and_frames_as_one_json_line(tune: Path, tmp_path: Path, engine: str) -> None:
    words = ("--source", "guitar", "--engine", engine, "--frames", "--json")
    code, out = coach(tmp_path, "listen", str(tune), *words)
    assert code == 0
    (line,) = out.splitlines()
    value = json.loads(line)
    assert list(value) == KEYS
    assert value["engine"] == engine
    assert value["duration_s"] == pytest.approx(2.2, abs=0.001)
    assert [note["midi"] for note in value["notes"]] == MIDIS
    for note, start_s in zip(value["notes"], STARTS_S, strict=True):
        assert set(note) == NOTE_KEYS
        assert abs(note["start_s"] - start_s) <= ONSET_S
        assert note["start_s"] < note["decided_s"] < note["end_s"]
        assert note["decided_s"] * 100 == pytest.approx(round(note["decided_s"] * 100), abs=1e-6)
    frames = value["frames"]
    assert set(frames) == FRAME_KEYS
    assert len({len(column) for column in frames.values()}) == 1
    for f0_hz, voiced in zip(frames["f0_hz"], frames["voiced"], strict=True):
        assert (f0_hz is not None) == voiced


def test_every_key_is_there_without_frames_and_without_notes(tmp_path: Path) -> None:
    path = tmp_path / "nothing.wav"
    soundfile.write(path, np.zeros(8_000, np.float32), 16_000)
    code, out = coach(tmp_path, "listen", str(path), "--json")
    assert code == 0
    value = json.loads(out)
    assert list(value) == KEYS
    assert (value["notes"], value["frames"], value["engine"]) == ([], None, "neural")


def test_another_standard_of_pitch(tune: Path, tmp_path: Path) -> None:
    # A4 = 466.16 Hz is a semitone over 440: the same sound is a semitone lower against it.
    words = ("--a4", "466", "--engine", "yin", "--source", "guitar", "--json")
    code, out = coach(tmp_path, "listen", str(tune), *words)
    assert code == 0
    assert [note["midi"] for note in json.loads(out)["notes"]] == [midi - 1 for midi in MIDIS]


def test_a_broken_file_is_told_after_the_others_are_done(tune: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.wav"
    broken.write_bytes(b"nothing that sounds")
    code, out = coach(tmp_path, "listen", str(broken), str(tune), "--engine", "yin", "--json")
    assert code == 1
    first, second = (json.loads(line) for line in out.splitlines())
    assert set(first) == {"input", "error"}
    assert len(second["notes"]) == len(MIDIS)


@pytest.mark.parametrize(
    "words", [("--a4", "300"), ("--a4", "high"), ("--source", "piano"), ("--engine", "x")]
)
def test_wrong_words_exit_2_and_print_nothing(tune: Path, tmp_path: Path, words: tuple[str, str]) -> None:
    assert coach(tmp_path, "listen", str(tune), *words, "--json") == (2, "")


def test_text_for_people(tune: Path, tmp_path: Path) -> None:
    code, out = coach(tmp_path, "listen", str(tune), "--engine", "yin", "--source", "guitar")
    assert code == 0
    assert "3 notes" in out
    assert "E3" in out
