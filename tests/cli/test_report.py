import csv
import json
from pathlib import Path

import html5lib
import pytest

from coach.reports.json_file import read_report
from coach.store.log import SqliteLog
from tests.command_line import coach
from tests.practised import practised

STARTS = {"html": b"<!DOCTYPE html>", "pdf": b"%PDF-", "json": b"{", "csv": b"number,day"}


@pytest.mark.parametrize("ending", STARTS)
def test_each_form(tmp_path: Path, ending: str) -> None:
    out = tmp_path / "new" / f"report.{ending}"
    code, text = coach(practised(tmp_path / "data"), "report", "--json", "--out", str(out))
    data = out.read_bytes()
    assert code == 0
    assert json.loads(text) == {
        "out": str(out), "format": ending, "since": None, "bytes": len(data), "shared": False,
    }  # fmt: skip
    assert data.startswith(STARTS[ending])


def test_since_a_day_and_since_the_last_lesson(tmp_path: Path) -> None:
    data, out = practised(tmp_path / "data"), tmp_path / "r.json"
    assert coach(data, "report", "--out", str(out), "--since", "2026-03-03", "--name", "Ann")[0] == 0
    report = read_report(out.read_bytes(), "r.json")
    assert (report.days, report.entries, report.name) == ((), (), "Ann")
    assert coach(data, "report", "--out", str(out), "--since", "lesson")[0] == 0
    assert read_report(out.read_bytes(), "r.json").since is None
    assert coach(data, "report", "--out", str(out), "--share")[0] == 0
    value = json.loads(coach(data, "report", "--json", "--out", str(out), "--since", "lesson")[1])
    assert value["since"] is not None


def test_an_empty_log_gives_a_report_too(tmp_path: Path) -> None:
    for ending in STARTS:
        out = tmp_path / f"r.{ending}"
        assert coach(tmp_path / "data", "report", "--out", str(out))[0] == 0
    html5lib.HTMLParser(strict=True).parse((tmp_path / "r.html").read_bytes())
    assert len(list(csv.reader((tmp_path / "r.csv").read_text().splitlines()))) == 1


@pytest.mark.parametrize(
    "words", [["--out", "r.doc"], ["--out", "r"], [], ["--out", "r.pdf", "--since", "x"]]
)
def test_wrong_words(tmp_path: Path, words: list[str]) -> None:
    assert coach(tmp_path, "report", *words) == (2, "")


def test_a_place_that_takes_no_file_fails(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    assert coach(tmp_path / "data", "report", "--out", str(tmp_path / "file" / "r.html"))[0] == 1


def test_it_is_written_while_the_app_is_open_but_not_noted(tmp_path: Path) -> None:
    data, out = practised(tmp_path / "data"), tmp_path / "r.json"
    log = SqliteLog.writing(data)
    code, text = coach(data, "report", "--json", "--out", str(out), "--share")
    log.close()
    assert code == 0
    assert json.loads(text)["shared"] is False
    assert out.exists()
