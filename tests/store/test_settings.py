import json
from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.music.naming import Naming
from coach.practice.settings import Settings, VoiceRangeSetting
from coach.store.settings import JsonSettings

CHANGED = Settings(
    a4_hz=442.0,
    tuning=(38, 45, 50, 55, 59, 64),
    naming=Naming.GERMAN,
    left_handed=True,
    practice_days=(0, 2, 5),
    reminder_at="07:30",
    voice=VoiceRangeSetting(45, 62),
    dark=False,
    watched_folder="/home/teacher/Reports",
    set_up_done=("room", "hands"),
)


def test_settings_come_back(tmp_path: Path) -> None:
    store = JsonSettings(tmp_path / "deep" / "settings.json")
    store.save(CHANGED)
    assert store.load() == CHANGED


@pytest.mark.parametrize("text", ["", "[]", "null", "{", "\x00", '"settings"'])
def test_broken_files_give_the_defaults(tmp_path: Path, text: str) -> None:
    path = tmp_path / "settings.json"
    path.write_text(text, encoding="utf-8")
    assert JsonSettings(path).load() == Settings()


def test_no_file_gives_the_defaults(tmp_path: Path) -> None:
    assert JsonSettings(tmp_path / "settings.json").load() == Settings()


def test_one_broken_field_costs_only_itself(tmp_path: Path) -> None:
    path = tmp_path / "settings.json"
    JsonSettings(path).save(CHANGED)
    plain = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps({**plain, "naming": "klingon", "later": 1}), encoding="utf-8")
    assert JsonSettings(path).load() == replace(CHANGED, naming=Settings().naming)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("practice_days", [7]), ("practice_days", [-1, 2]), ("practice_days", ["mon"]),
        ("practice_days", 3), ("practice_days", [True]), ("reminder_at", "24:00"), ("reminder_at", "18:60"),
        ("reminder_at", "6:30"),
        ("reminder_at", "18:00+01:00"), ("reminder_at", ""), ("reminder_at", None), ("reminder_at", 18),
    ],
)  # fmt: skip
def test_days_and_times_that_are_none_are_not_said(tmp_path: Path, name: str, value: object) -> None:
    path = tmp_path / "settings.json"
    JsonSettings(path).save(CHANGED)
    plain = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps({**plain, name: value}), encoding="utf-8")
    assert JsonSettings(path).load() == replace(CHANGED, **{name: getattr(Settings(), name)})


@given(
    st.dictionaries(
        st.sampled_from([field.name for field in fields(Settings)]),
        st.recursive(
            st.none() | st.booleans() | st.integers() | st.text() | st.floats(), st.lists, max_leaves=8
        ),
    )
)
def test_no_file_whatever_stops_the_app(plain: dict[str, object]) -> None:
    path = Path("/nowhere")

    class Text(type(path)):  # type: ignore[misc]
        def read_text(self, encoding: str | None = None) -> str:
            return json.dumps(plain)

    assert isinstance(JsonSettings(Text(path)).load(), Settings)
