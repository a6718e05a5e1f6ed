import json
from fractions import Fraction
from pathlib import Path

from coach.practice.events import NoteRecord, ReplyOpened
from coach.reports.reply_file import reply_json
from tests.command_line import coach
from tests.practised import PIECE, practised

KEYS = ["input", "piece", "title", "word", "in_hand", "left_out", "needs_recording"]


def packed(tmp_path: Path, *words: str) -> str:
    out = str(tmp_path / "lark.zip")
    assert coach(practised(tmp_path / "teacher"), "pack", "lark", "--out", out, *words)[0] == 0
    return out


def test_the_name_of_the_piece_is_printed(tmp_path: Path) -> None:
    code, text = coach(tmp_path / "data", "unpack", packed(tmp_path, "--with-recording"))
    assert code == 0
    assert text.splitlines() == ["Lark"]


def test_the_value(tmp_path: Path) -> None:
    path = packed(tmp_path, "--word", "Slowly.")
    code, text = coach(tmp_path / "data", "unpack", path, "--json")
    value = json.loads(text)
    assert code == 0
    assert list(value) == KEYS
    assert (value["title"], value["word"], value["in_hand"], value["needs_recording"]) == (
        "Lark", "Slowly.", True, True,
    )  # fmt: skip


def test_a_reply(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    note = NoteRecord(Fraction(0), Fraction(1), 59)
    (tmp_path / "reply.json").write_bytes(reply_json(ReplyOpened(PIECE, "Lower!", (note,), "melody")))
    code, text = coach(data, "unpack", str(tmp_path / "reply.json"), "--json")
    assert code == 0
    assert json.loads(text)["word"] == "Lower!"
    assert "A reply of your teacher was opened: Lower!" in coach(data, "log")[1]


def test_what_is_no_pack_fails_in_one_value(tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"PK")
    code, text = coach(tmp_path / "data", "unpack", str(tmp_path / "x.zip"), "--json")
    assert code == 1
    value = json.loads(text)
    assert list(value) == ["input", "error"]
    assert value["error"]["code"] == "unreadable"
    assert not (tmp_path / "data" / "pieces").exists()
