"""``coach sheet`` by its contract: four kinds of files, whole, and told one value an input."""

import json
from fractions import Fraction
from pathlib import Path

import pytest

from coach.pieces.changes import Mended
from coach.sheet import read_arrangement, write_lines
from tests.command_line import coach
from tests.musicxml_schema import schema_faults
from tests.sheet_pieces import fingered_piece


def sheet(tmp_path: Path, *words: str) -> tuple[int, str]:
    return coach(tmp_path / "data", "sheet", *words)


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "lantern.json"
    path.write_bytes(write_lines(fingered_piece()[0]))
    return path


def test_the_files(piece: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    code, told = sheet(tmp_path, str(piece), "--out", str(out), "--json")
    value = json.loads(told)
    assert code == 0
    assert (value["playable"], value["pages"]) == (True, 1)
    names = ["lantern.pdf", "lantern-1.png", "lantern.musicxml", "lantern.mid"]
    assert value["files"] == [str(out / name) for name in names]
    assert {path.name for path in out.iterdir()} == set(names)
    assert schema_faults((out / "lantern.musicxml").read_bytes()) == []
    written = read_arrangement((out / "lantern.musicxml").read_bytes(), "lantern.musicxml")
    assert all(note.place is not None for line in written.lines for note in line)
    midi = read_arrangement((out / "lantern.mid").read_bytes(), "lantern.mid")
    assert [n.midi for n in midi.melody] == [n.midi for n in written.melody]


def test_text_for_people(piece: Path, tmp_path: Path) -> None:
    code, told = sheet(tmp_path, str(piece), "--out", str(tmp_path), "--paper", "letter")
    assert code == 0
    assert "lantern.pdf" in told


def test_an_input_is_never_written_over(piece: Path, tmp_path: Path) -> None:
    assert sheet(tmp_path, str(piece), "--out", str(tmp_path))[0] == 0
    given = tmp_path / "lantern.musicxml"
    before = given.read_bytes()
    assert sheet(tmp_path, str(given), "--out", str(tmp_path))[0] == 0
    assert given.read_bytes() == before
    assert (tmp_path / "lantern-sheet.musicxml").exists()


def test_a_failed_input_does_not_stop_the_others(piece: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text("{", encoding="utf-8")
    out = str(tmp_path / "out")
    files = (str(bad), str(tmp_path / "none.json"), str(piece))
    code, told = sheet(tmp_path, *files, "--out", out, "--json")
    assert code == 1
    values = [json.loads(line) for line in told.splitlines()]
    assert [value.get("error", {}).get("code") for value in values] == ["unreadable", "unreadable", None]


def test_what_cannot_be_played_is_shown_without_fingering(
    piece: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nothing = Mended(None, (), (), as_written=False, proven=True, searched_to=Fraction(0))
    monkeypatch.setattr("coach.cli.commands.sheet.mend", lambda *_, **__: nothing)
    code, told = sheet(tmp_path, str(piece), "--out", str(tmp_path / "out"), "--json")
    value = json.loads(told)
    assert code == 0
    assert (value["playable"], value["as_written"], value["changes"]) == (False, False, [])
    assert (tmp_path / "out" / "lantern.pdf").exists()


@pytest.mark.parametrize("words", [(), ("--out", "x", "--paper", "a5")])
def test_wrong_words(words: tuple[str, ...], piece: Path, tmp_path: Path) -> None:
    assert sheet(tmp_path, str(piece), *words) == (2, "")
