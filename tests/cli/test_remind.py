import json
from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest

from coach.practice.events import AimSet
from coach.practice.settings import Settings
from coach.store.settings import JsonSettings
from tests.command_line import coach
from tests.practised import PIECE, practised


def test_a_calendar_file(tmp_path: Path) -> None:
    out = tmp_path / "r.ics"
    code, text = coach(
        tmp_path / "data", "remind", "--json", "--out", str(out), "--at", "07:15", "--days", "fri,Mon"
    )
    assert code == 0
    assert json.loads(text) == {"out": str(out), "at": "07:15", "days": ["mon", "fri"], "until": None}
    (event,) = icalendar.Calendar.from_ical(out.read_bytes()).walk("VEVENT")
    assert event["RRULE"]["BYDAY"] == ["MO", "FR"]
    assert event.decoded("DTSTART").weekday() in {0, 4}
    assert len(event.walk("VALARM")) == 1


def test_it_ends_with_the_aim(tmp_path: Path) -> None:
    aim = date(2999, 1, 1)
    data = practised(tmp_path / "data", AimSet(PIECE, aim))
    value = json.loads(coach(data, "remind", "--json", "--out", str(tmp_path / "r.ics"))[1])
    assert value["until"] == aim.isoformat()
    other = (aim - timedelta(days=9)).isoformat()
    words = ("--out", str(tmp_path / "r.ics"), "--until", other)
    assert json.loads(coach(data, "remind", "--json", *words)[1])["until"] == other


def test_days_and_time_are_those_of_the_settings_unless_named(tmp_path: Path) -> None:
    def said(*words: str) -> tuple[str, list[str]]:
        value = json.loads(coach(tmp_path, "remind", "--json", "--out", str(tmp_path / "r.ics"), *words)[1])
        return value["at"], value["days"]

    assert said() == ("18:00", [])
    JsonSettings(tmp_path / "settings.json").save(Settings(practice_days=(4, 0), reminder_at="07:30"))
    assert said() == ("07:30", ["mon", "fri"])
    (event,) = icalendar.Calendar.from_ical((tmp_path / "r.ics").read_bytes()).walk("VEVENT")
    assert (event["RRULE"]["BYDAY"], event.decoded("DTSTART").time().hour) == (["MO", "FR"], 7)
    assert said("--days", "sun", "--at", "20:15") == ("20:15", ["sun"])


@pytest.mark.parametrize(
    "words", [[], ["--at", "25:00"], ["--at", "18:00+01:00"], ["--days", "someday"], ["--days", ""]]
)
def test_wrong_words(tmp_path: Path, words: list[str]) -> None:
    out = ["--out", str(tmp_path / "r.ics")] if words else []
    assert coach(tmp_path, "remind", *out, *words) == (2, "")


@pytest.mark.parametrize("words", [["r.txt"], ["r"], ["r.ics", "--until", "2020-01-01"]])
def test_another_ending_or_a_day_that_is_over_is_a_wrong_word(tmp_path: Path, words: list[str]) -> None:
    out = str(tmp_path / words[0])
    assert coach(tmp_path, "remind", "--out", out, *words[1:]) == (2, "")
    assert not (tmp_path / words[0]).exists()
