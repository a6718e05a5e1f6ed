import json
from pathlib import Path

from coach.store.log import SqliteLog
from tests.command_line import coach
from tests.practised import practised


def test_what_was_there_is_kept_and_the_back_up_takes_its_place(tmp_path: Path) -> None:
    data, out = practised(tmp_path / "data"), tmp_path / "b.zip"
    was = coach(data, "log")[1]
    coach(data, "backup", str(out))
    code, text = coach(data, "restore", str(out), "--json")
    value = json.loads(text)
    assert code == 0
    assert value["input"] == str(out)
    assert Path(value["before"]).is_file()
    assert coach(data, "log")[1] == was


def test_into_an_empty_folder(tmp_path: Path) -> None:
    out = tmp_path / "b.zip"
    coach(practised(tmp_path / "data"), "backup", str(out))
    code, text = coach(tmp_path / "new", "restore", str(out), "--json")
    assert code == 0
    assert json.loads(text) == {"input": str(out), "before": None}
    assert coach(tmp_path / "new", "today", "--on", "2026-03-03") == coach(
        tmp_path / "data", "today", "--on", "2026-03-03"
    )


def test_what_is_no_back_up_changes_nothing(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    was = coach(data, "log")[1]
    (tmp_path / "b.zip").write_bytes(b"PK")
    code, text = coach(data, "restore", str(tmp_path / "b.zip"), "--json")
    assert code == 1
    assert json.loads(text)["error"]["code"] == "unreadable"
    assert coach(data, "log")[1] == was


def test_not_while_the_app_is_open(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    coach(data, "backup", str(tmp_path / "b.zip"))
    log = SqliteLog.writing(data)
    code, text = coach(data, "restore", str(tmp_path / "b.zip"), "--json")
    log.close()
    assert code == 1
    assert json.loads(text)["error"]["code"] == "locked"
