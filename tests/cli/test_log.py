import json
from pathlib import Path

from coach.practice.codec import decode
from coach.practice.events import PieceChosen
from tests.command_line import coach
from tests.practised import practised


def test_each_event_is_a_line(tmp_path: Path) -> None:
    code, text = coach(practised(tmp_path / "data"), "log", "--json")
    values = [json.loads(line) for line in text.splitlines()]
    assert code == 0
    assert [value["seq"] for value in values] == list(range(1, 14))
    assert all(list(value) == ["seq", "at", "kind", "version", "event"] for value in values)
    first = values[0]
    event = decode(first["kind"], first["version"], json.dumps(first["event"]))
    assert isinstance(event, PieceChosen)
    assert event.title == "Lark"


def test_since_a_day(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    assert coach(data, "log", "--json", "--since", "2026-03-03") == (0, "")
    assert len(coach(data, "log", "--since", "2026-03-02")[1].splitlines()) == 13


def test_in_words(tmp_path: Path) -> None:
    text = coach(practised(tmp_path / "data"), "log")[1]
    assert text.splitlines()[0] == "2026-03-02 18:00  “Lark” was taken in hand."


def test_an_empty_log_is_no_error(tmp_path: Path) -> None:
    assert coach(tmp_path / "none", "log", "--json") == (0, "")


def test_nothing_is_said_in_words(tmp_path: Path) -> None:
    assert coach(tmp_path / "none", "log") == (0, "Nothing is in the log yet.\n")
    data = practised(tmp_path / "data")
    assert coach(data, "log", "--since", "2026-03-03") == (0, "Nothing since 2026-03-03.\n")
