"""``coach check`` by its contract: words, JSON, errors, exit codes."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.cli.main import run
from coach.music.tuning_system import midi_to_hz
from tests.command_line import coach
from tests.synth import pluck

KEYS = ["line", "from_s", "to_s", "midi", "verdict", "nearby", "confidence"]
WORDS = {"heard", "other_octave", "not_heard", "cannot_tell"}


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rate = 44100
    tune = np.concatenate([pluck(midi_to_hz(m), 0.5, rate_hz=rate) for m in (64, 67, 69, 72)])
    bass = np.concatenate([pluck(midi_to_hz(m), 1.0, rate_hz=rate) for m in (48, 41)])
    path = tmp_path_factory.mktemp("check") / "tune.wav"
    soundfile.write(path, 0.5 * (tune + bass), rate)
    return path


def test_one_question(recording: Path, tmp_path: Path) -> None:
    words = ("--line", "melody", "--from", "0.5", "--to", "1.0", "--note", "G4", "--json")
    code, out = coach(tmp_path, "check", str(recording), *words)
    assert code == 0
    lines = out.splitlines()
    assert len(lines) == 1
    value = json.loads(lines[0])
    assert list(value) == KEYS
    assert value["midi"] == 67
    assert value["verdict"] in WORDS
    assert 0 <= value["confidence"] <= 1


def test_many_questions_in_order(recording: Path, tmp_path: Path) -> None:
    asked = [
        {"line": "melody", "from_s": 0.0, "to_s": 0.5, "note": "E4"},
        {"line": "melody", "from_s": 0.0, "to_s": 0.5, "midi": 65},
        {"line": "bass", "from_s": 0.0, "to_s": 1.0, "note": "C3", "unknown": 1},
    ]
    file = tmp_path / "asked.json"
    file.write_text(json.dumps(asked))
    code, out = coach(tmp_path, "check", str(recording), "--queries", str(file), "--json")
    assert code == 0
    (line,) = out.splitlines()
    values = json.loads(line)
    assert [value["midi"] for value in values] == [64, 65, 48]
    assert [value["verdict"] for value in values] == ["heard", "not_heard", "heard"]


def test_asking_on_and_on_offers_the_ladder(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """After six different notes on one span, as the contract of the command line has it."""
    asked = [{"line": "melody", "from_s": 0.0, "to_s": 0.5, "midi": 60 + k} for k in range(6)]
    file = tmp_path / "asked.json"
    for count, offered in ((5, False), (6, True)):
        file.write_text(json.dumps([*asked[:count], asked[0], {**asked[5], "line": "bass"}]))
        words = ["check", str(recording), "--queries", str(file), "--json"]
        code = run(words, lambda _: make_services(tmp_path))
        told = capsys.readouterr()
        assert code == 0
        assert ("coach hint" in told.err) is offered
        assert len(json.loads(told.out)) == count + 2


def test_text_for_people(recording: Path, tmp_path: Path) -> None:
    words = ("--line", "melody", "--from", "0.5", "--to", "1.0", "--note", "67")
    code, out = coach(tmp_path, "check", str(recording), *words)
    assert code == 0
    assert "G4" in out


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("--line", "melody", "--from", "1", "--to", "1", "--note", "G4"),
        ("--line", "melody", "--from", "1", "--to", "2"),
        ("--line", "melody", "--from", "1", "--to", "2", "--note", "H4"),
        ("--line", "alto", "--from", "1", "--to", "2", "--note", "G4"),
        ("--line", "melody", "--from", "-1", "--to", "2", "--note", "G4"),
        ("--line", "melody", "--from", "nan", "--to", "2", "--note", "G4"),
        ("--line", "melody", "--from", "1", "--to", "2", "--note", "G4", "--queries", "x.json"),
    ],
)
def test_wrong_words(recording: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    assert coach(tmp_path, "check", str(recording), *words, "--json") == (2, "")


@pytest.mark.parametrize(
    "text",
    [
        "not json",
        "{}",
        "[1]",
        '[{"line": "melody", "from_s": 1, "to_s": 2}]',
        '[{"line": "alto", "from_s": 1, "to_s": 2, "note": "G4"}]',
        '[{"line": ["bass"], "from_s": 1, "to_s": 2, "note": "G4"}]',
        '[{"line": null, "from_s": 1, "to_s": 2, "note": "G4"}]',
        "[" * 100_000,
        '[{"line": "bass", "from_s": 2, "to_s": 1, "note": "G4"}]',
        '[{"line": "bass", "from_s": 1, "to_s": 2, "note": "H4"}]',
        '[{"line": "bass", "from_s": 1, "to_s": 2, "midi": 200}]',
        '[{"line": "bass", "from_s": 1, "to_s": 2, "midi": true}]',
        '[{"line": "bass", "from_s": "1", "to_s": 2, "midi": 60}]',
    ],
)
def test_wrong_questions(recording: Path, tmp_path: Path, text: str) -> None:
    file = tmp_path / "asked.json"
    file.write_text(text)
    assert coach(tmp_path, "check", str(recording), "--queries", str(file), "--json") == (2, "")


def test_a_missing_recording(tmp_path: Path) -> None:
    words = ("--line", "bass", "--from", "0", "--to", "1", "--note", "E2", "--json")
    code, out = coach(tmp_path, "check", str(tmp_path / "none.wav"), *words)
    assert code == 1
    value = json.loads(out)
    assert set(value) == {"input", "error"}
    assert set(value["error"]) == {"code", "message"}


def test_a_missing_file_of_questions(recording: Path, tmp_path: Path) -> None:
    assert (
        coach(tmp_path, "check", str(recording), "--queries", str(tmp_path / "none.json"), "--json")[0] == 1
    )
