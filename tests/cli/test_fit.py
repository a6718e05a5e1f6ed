"""``coach fit`` by its contract: keys and capos with reasons, one value an input."""

import json
from pathlib import Path

from coach.sheet import write_lines
from tests.command_line import coach
from tests.sheet_pieces import fingered_piece


def test_keys_with_reasons(tmp_path: Path) -> None:
    path = tmp_path / "lantern.json"
    path.write_bytes(write_lines(fingered_piece()[0]))
    code, told = coach(tmp_path / "data", "fit", str(path), "--json")
    value = json.loads(told)
    assert (code, value["input"], value["key"]) == (0, str(path), "G")
    assert 3 <= len(value["options"]) <= 5
    assert any(option["shift_semitones"] == 0 for option in value["options"])
    assert all(option["reasons"] for option in value["options"])
    code, text = coach(tmp_path / "data", "fit", str(path))
    assert code == 0
    assert value["options"][0]["reasons"][0] in text


def test_a_failed_input_does_not_stop_the_others(tmp_path: Path) -> None:
    path = tmp_path / "lantern.json"
    path.write_bytes(write_lines(fingered_piece()[0]))
    code, told = coach(tmp_path / "data", "fit", str(tmp_path / "none.json"), str(path), "--json")
    values = [json.loads(text) for text in told.splitlines()]
    assert (code, values[0]["error"]["code"]) == (1, "unreadable")
    assert values[1]["key"] == "G"
