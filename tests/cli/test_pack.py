import json
import zipfile
from pathlib import Path

from tests.command_line import coach
from tests.practised import PIECE, practised


def test_a_pack_by_title_or_identifier(tmp_path: Path) -> None:
    data, out = practised(tmp_path / "data"), tmp_path / "lark.zip"
    for name in (PIECE, "lark"):
        code, text = coach(data, "pack", name, "--json", "--out", str(out), "--word", "Slowly.")
        assert code == 0
        assert json.loads(text) == {
            "input": name, "out": str(out), "title": "Lark", "sections": ["A", "B"], "recording": False,
            "reference": True,
        }  # fmt: skip
    with zipfile.ZipFile(out) as archive:
        assert archive.namelist() == ["pack.toml", "reference.musicxml"]


def test_a_piece_that_is_not_there_fails(tmp_path: Path) -> None:
    code, text = coach(
        practised(tmp_path / "data"), "pack", "robin", "--json", "--out", str(tmp_path / "x.zip")
    )
    assert code == 1
    assert json.loads(text)["error"]["code"] == "store"
    assert not (tmp_path / "x.zip").exists()
