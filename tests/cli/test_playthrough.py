"""``coach playthrough`` by its contract: words, JSON, errors, exit codes."""

import json
from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile

from coach.sheet import write_lines
from tests.command_line import coach
from tests.taken import RATE_HZ, invented, performed

KEYS = ["tempo_bpm", "notes", "extra", "right_share", "hardest_bar"]
NOTE_KEYS = ["line", "onset", "midi", "result", "offset_ms", "played_midi"]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    folder = tmp_path_factory.mktemp("playthrough")
    piece = invented(Random(1), 3)
    slips = {(piece.melody.kind, 2): None}
    (folder / "piece.json").write_bytes(write_lines(piece))
    soundfile.write(folder / "take.wav", performed(piece, 66.0, Random(1), slips=slips).samples, RATE_HZ)
    soundfile.write(folder / "silence.wav", np.zeros(RATE_HZ), RATE_HZ)
    return str(folder / "piece.json"), str(folder / "take.wav")


def test_a_take_is_graded(files: tuple[str, str], tmp_path: Path) -> None:
    code, out = coach(tmp_path, "playthrough", *files, "--json")
    (line,) = out.splitlines()
    value = json.loads(line)
    assert (code, list(value)) == (0, KEYS)
    assert all(list(note) == NOTE_KEYS for note in value["notes"])
    assert value["tempo_bpm"] == pytest.approx(66.0, rel=0.005)
    (gone,) = [note for note in value["notes"] if note["result"] != "right"]
    assert (gone["result"], gone["offset_ms"], gone["played_midi"]) == ("missing", None, None)
    assert value["right_share"] == round(1 - 1 / len(value["notes"]), 4)
    assert value["extra"] == []


def test_text_for_people(files: tuple[str, str], tmp_path: Path) -> None:
    code, out = coach(tmp_path, "playthrough", *files, "--tempo", "66")
    assert code == 0
    assert "Hardest: bar" in out
    assert "I did not hear" in out


def test_a_silent_take_is_an_answer(files: tuple[str, str], tmp_path: Path) -> None:
    silence = str(Path(files[1]).with_name("silence.wav"))
    code, out = coach(tmp_path, "playthrough", files[0], silence, "--json")
    value = json.loads(out)
    assert (code, value["tempo_bpm"], value["right_share"]) == (0, None, 0.0)
    assert {note["result"] for note in value["notes"]} == {"missing"}


@pytest.mark.parametrize("tempo", ["0", "nan", "fast", "500"])
def test_wrong_words(files: tuple[str, str], tmp_path: Path, tempo: str) -> None:
    assert coach(tmp_path, "playthrough", *files, "--tempo", tempo, "--json") == (2, "")


def test_missing_files(files: tuple[str, str], tmp_path: Path) -> None:
    for words in ((files[0], str(tmp_path / "none.wav")), (str(tmp_path / "none.json"), files[1])):
        code, out = coach(tmp_path, "playthrough", *words, "--json")
        (line,) = out.splitlines()
        assert code == 1
        assert set(json.loads(line)) == {"input", "error"}
