import json
from datetime import date
from pathlib import Path

import pytest

from coach.practice.events import AimSet
from tests.command_line import coach
from tests.practised import PIECE, practised

STEP_KEYS = ["kind", "title", "minutes", "section", "stage"]
FORECAST_KEYS = ["aim", "p10", "p50", "p90", "on_track", "advice"]


def test_the_plan_of_an_empty_folder_is_there_and_makes_nothing(tmp_path: Path) -> None:
    data = tmp_path / "data"
    code, text = coach(data, "today", "--json", "--on", "2026-03-03")
    value = json.loads(text)
    assert code == 0
    assert list(value) == ["date", "minutes", "steps", "forecast"]
    assert value["date"] == "2026-03-03"
    assert value["minutes"] == sum(step["minutes"] for step in value["steps"])
    assert all(list(step) == STEP_KEYS for step in value["steps"])
    assert "three notes" in value["steps"][1]["title"]
    assert value["forecast"] == dict.fromkeys(FORECAST_KEYS)
    assert not data.exists()


def test_the_plan_with_a_forecast_beside_the_aim(tmp_path: Path) -> None:
    data = practised(tmp_path / "data", AimSet(PIECE, date(2026, 3, 4)))
    code, text = coach(data, "today", "--json", "--on", "2026-03-03")
    value = json.loads(text)
    assert code == 0
    piece = [step for step in value["steps"] if step["kind"] == "piece"]
    assert (piece[0]["section"], piece[0]["stage"]) == ("B", "melody")
    told = value["forecast"]
    assert list(told) == FORECAST_KEYS
    assert told["aim"] == "2026-03-04"
    assert told["p10"] <= told["p50"] <= told["p90"]
    assert told["on_track"] is False
    assert told["advice"]


def test_the_same_day_gives_the_same_plan(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    assert coach(data, "today", "--json", "--on", "2026-03-05") == coach(
        data, "today", "--json", "--on", "2026-03-05"
    )


def test_the_plan_in_words(tmp_path: Path) -> None:
    data = practised(tmp_path / "data", AimSet(PIECE, date(2026, 3, 4)))
    code, text = coach(data, "today", "--on", "2026-03-03")
    assert code == 0
    assert text.startswith("Tuesday, 2026-03-03: 20 minutes")
    assert "section B is next" in text
    assert "Leave out section B this time: done about" in text


@pytest.mark.parametrize("day", ["tomorrow", "2026-02-30", "", "9999-12-31", "0001-01-01"])
def test_a_day_that_is_none_is_a_wrong_word(tmp_path: Path, day: str) -> None:
    assert coach(tmp_path, "today", "--on", day) == (2, "")
