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
        "Lark", "Slowly.", True, False,
    )  # fmt: skip


def test_the_recording_may_come_later(tmp_path: Path) -> None:
    path = packed(tmp_path)
    recording = (tmp_path / "lark.wav").rename(tmp_path / "elsewhere")
    first = json.loads(coach(tmp_path / "data", "unpack", path, "--json")[1])
    assert first["needs_recording"]
    assert "put your own copy (the very same file) beside the pack" in coach(
        tmp_path / "data", "unpack", path
    )[1]  # fmt: skip
    (tmp_path / "other.wav").write_bytes(b"RIFF")
    other = str(tmp_path / "other.wav")
    code, text = coach(tmp_path / "data", "unpack", path, "--recording", other, "--json")
    assert code == 1
    assert json.loads(text)["error"]["message"].startswith("“other.wav” is another recording")
    recording.rename(tmp_path / "my copy.wav")
    again = json.loads(coach(tmp_path / "data", "unpack", path, "--json")[1])
    assert (again["piece"], again["needs_recording"]) == (first["piece"], False)


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
