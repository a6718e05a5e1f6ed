import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from coach.cli.main import run
from coach.sheet import write_lines, write_midi
from tests.fretboard.checker import broken_rules
from tests.fretboard.contract import broken_shape
from tests.fretboard.pieces import arrangement_of

EASY = arrangement_of([("0", "1", 64), ("1", "1", 67), ("2", "2", 69)], [("0", "2", 48), ("2", "2", 43)])
HARD = arrangement_of([("0", "1", 71), ("1", "1", 72), ("2", "2", 76)], [("0", "4", 43)])
KEYS = [
    "input", "playable", "as_written", "cost", "reach", "tuning", "capo", "changes", "notes", "hand",
    "blocked",
]  # fmt: skip


def coach(*words: str) -> int:
    return run(words, lambda _folder: SimpleNamespace())  # type: ignore[arg-type, return-value]


@pytest.fixture
def easy(tmp_path: Path) -> str:
    path = tmp_path / "easy.json"
    path.write_bytes(write_lines(EASY))
    return str(path)


@pytest.fixture
def hard(tmp_path: Path) -> str:
    path = tmp_path / "hard.json"
    path.write_bytes(write_lines(HARD))
    return str(path)


def values(capsys: pytest.CaptureFixture[str]) -> list[dict]:  # type: ignore[type-arg]
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_the_json_value_keeps_the_contract(easy: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert coach("finger", "--json", easy) == 0
    (value,) = values(capsys)
    assert list(value) == KEYS
    assert value["input"] == easy
    assert value["playable"] is value["as_written"] is True
    assert value["changes"] == value["blocked"] == []
    assert value["tuning"] == [40, 45, 50, 55, 59, 64]
    assert (value["reach"], value["capo"]) == ("starter", 0)
    assert isinstance(value["cost"], float)
    assert [(n["line"], n["onset"], n["midi"]) for n in value["notes"]] == [
        ("melody", "0", 64), ("bass", "0", 48), ("melody", "1", 67), ("melody", "2", 69), ("bass", "2", 43),
    ]  # fmt: skip
    assert list(value["notes"][0]) == [
        "line", "onset", "duration", "midi", "string", "fret", "finger", "right_hand",
    ]  # fmt: skip
    assert [hand["onset"] for hand in value["hand"]] == ["0", "1", "2"]
    assert broken_rules(value) == []


def test_what_hands_cannot_do_is_told_and_mended(hard: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert coach("finger", "--json", hard) == 0
    (value,) = values(capsys)
    assert value["playable"]
    assert not value["as_written"]
    assert [change["kind"] for change in value["changes"]] == ["bass_note_octave"]
    assert list(value["changes"][0]) == ["kind", "line", "onset", "detail"]
    assert value["blocked"]
    assert list(value["blocked"][0]) == ["onset", "reason", "mm", "frets"]
    assert broken_rules(value) == []


def test_as_written_allows_no_change(hard: str, easy: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert coach("finger", "--json", "--as-written", hard, easy) == 0
    no, yes = values(capsys)
    assert (no["playable"], no["as_written"], no["cost"], no["notes"], no["hand"]) == (
        False,
        False,
        None,
        [],
        [],
    )
    assert no["blocked"]
    assert yes["playable"]
    assert yes["as_written"]


def test_tuning_capo_and_reach_are_taken(easy: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--tuning", "D2,A2,D3,G3,B3,E4", "--capo", "2", "--reach", "seasoned")
    assert coach("finger", "--json", easy, *words) == 0
    (value,) = values(capsys)
    assert (value["tuning"][0], value["capo"], value["reach"]) == (38, 2, "seasoned")
    assert broken_rules(value) == []


@pytest.mark.parametrize("reach", ["starter", "seasoned", "narrow", "own"])
def test_every_hand_that_set_up_finds_is_taken_and_told_of(
    reach: str, hard: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert coach("finger", "--json", hard, "--reach", reach) == 0
    (value,) = values(capsys)
    assert value["reach"] == reach
    assert broken_shape(value) == []
    with pytest.raises(SystemExit):
        coach("finger", "--help")
    assert reach in capsys.readouterr().out


def test_midi_goes_in_as_well(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "easy.mid"
    path.write_bytes(write_midi(EASY))
    assert coach("finger", "--json", str(path)) == 0
    (value,) = values(capsys)
    assert len(value["notes"]) == 5
    assert broken_rules(value) == []


def test_a_failed_file_does_not_stop_the_others(
    easy: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.json"
    broken.write_text("{", encoding="utf-8")
    assert coach("finger", "--json", str(tmp_path / "none.json"), str(broken), easy) == 1
    missing, bad, good = values(capsys)
    assert missing["error"]["code"] == "unreadable"
    assert bad["error"]["code"]
    assert set(missing) == {"input", "error"}
    assert good["playable"]


@pytest.mark.parametrize(
    "words",
    [
        ("--capo", "10"),
        ("--capo", "x"),
        ("--tuning", "E2,A2"),
        ("--tuning", "H2,A2,D3,G3,B3,E4"),
        ("--reach", "far"),
    ],
)
def test_wrong_words_are_refused_without_a_word_on_standard_output(
    words: tuple[str, str], easy: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stop:
        coach("finger", "--json", easy, *words)
    assert stop.value.code == 2
    assert capsys.readouterr().out == ""


def test_people_read_a_sentence(hard: str, easy: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert coach("finger", hard, easy) == 0
    text = capsys.readouterr().out
    assert "113 mm" in text
    assert "change: G2 an octave higher" in text
    assert "or, 1:" in text
    assert "as written" in text
    assert coach("finger", "--as-written", hard) == 0
    assert "cannot be played" in capsys.readouterr().out


def test_a_tune_near_the_top_of_midi_cannot_be_played_and_is_no_failure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "whistle.json"
    path.write_bytes(write_lines(arrangement_of([("0", "1", 120), ("1", "1", 119)], [("0", "2", 40)])))
    assert coach("finger", "--json", str(path)) == 0
    (value,) = values(capsys)
    assert value["playable"] is False
    assert "above the highest note within reach" in value["blocked"][0]["reason"]
    assert coach("finger", str(path)) == 0
    assert "cannot be played (no change is enough)" in capsys.readouterr().out
