import hashlib
import json
from pathlib import Path

from coach.store.log import SqliteLog
from tests.command_line import coach
from tests.practised import practised


def test_a_back_up_tells_its_hash_and_is_noted(tmp_path: Path) -> None:
    data, out = practised(tmp_path / "data"), tmp_path / "b.zip"
    code, text = coach(data, "backup", str(out), "--json")
    assert code == 0
    digest = hashlib.sha256(out.read_bytes()).hexdigest()
    size = out.stat().st_size
    assert json.loads(text) == {"input": str(out), "sha256": digest, "bytes": size, "noted": True}
    assert "A back-up was made." in coach(data, "log")[1]


def test_it_never_overwrites(tmp_path: Path) -> None:
    out = tmp_path / "b.zip"
    out.write_bytes(b"mine")
    code, text = coach(practised(tmp_path / "data"), "backup", str(out), "--json")
    assert code == 1
    assert json.loads(text)["error"]["code"] == "store"
    assert out.read_bytes() == b"mine"


def test_it_is_made_while_the_app_is_open(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    log = SqliteLog.writing(data)
    code, text = coach(data, "backup", str(tmp_path / "b.zip"), "--json")
    log.close()
    assert code == 0
    assert json.loads(text)["noted"] is False
