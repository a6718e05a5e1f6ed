"""Drills as data: the project's own are sound, and what is wrong is named with file, line and field."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.drills.data import Direction, Drill, Register, SkillKey
from coach.drills.kinds import AnswerForm, By, Kind
from coach.drills.loading import MOST_BYTES, load_drill, load_drills
from coach.errors import DrillDataError
from tests.drill_answers import all_drills

FOLDER = Path(__file__).parents[2] / "exercises" / "drills"
VOICE_TOLERANCES = (50.0, 35.0, 25.0)


def _text(name: str = "interval-echo") -> str:
    return (FOLDER / f"{name}.toml").read_text()


def test_there_is_a_drill_of_every_kind_in_the_order_of_meeting() -> None:
    kinds = [drill.kind for drill in all_drills()]
    assert kinds == list(Kind)


@pytest.mark.parametrize("drill", all_drills(), ids=lambda drill: drill.name)
def test_levels_grow_harder(drill: Drill) -> None:
    assert len(drill.levels) >= 3
    cents = [level.cents for level in drill.levels]
    assert cents == sorted(cents, reverse=True)
    assert set(cents) <= set(VOICE_TOLERANCES)
    for name in ("tolerance_s", "note_s", "instant_s", "sure_s"):
        values = [getattr(level, name) for level in drill.levels]
        assert values == sorted(values, reverse=True), name
    for name in ("reach", "silence_s", "tempo_bpm"):
        values = [getattr(level, name) for level in drill.levels]
        assert values == sorted(values), name
    if drill.kind.form is AnswerForm.NOTES:
        assert cents[0] == 50.0
        assert cents[-1] == 25.0
        assert set(drill.by) == set(By)


def test_a_level_goes_on_from_the_one_before() -> None:
    drill = load_drill("x.toml", _text().encode())
    assert drill.level(2).silence_s == drill.level(1).silence_s
    assert drill.level(99) == drill.levels[-1]
    with pytest.raises(ValueError, match="from 1"):
        drill.level(0)


@pytest.mark.parametrize(
    ("old", "new", "line", "field"),
    [
        ('title = "Two notes, echoed"', "title = 4", 3, "title"),
        ('kind = "interval_echo"', 'kind = "juggling"', 2, "kind"),
        ('"M2", "P5"', '"M2", "Q5"', 5, "items"),
        ('"M2", "P5"', '"M2", "M2"', 5, "items"),
        ("first = 3", "first = 99", 6, "first"),
        ("seconds = 14", "seconds = 0", 8, "seconds"),
        ("seconds = 14", "second = 14", 8, "second"),
        ("seconds = 14\n", "", 1, "seconds"),
        ('timbres = ["pluck"]', 'timbres = ["tuba"]', 11, "timbres"),
        ("reach = 4", "reach = 4.5", 14, "reach"),
        ("reach = 8", "reach = true", 21, "reach"),
        ("cents = 35", "cents = 80", 24, "cents"),
        ("cents = 35", "pace = 80", 24, "pace"),
        ('by = ["voice", "guitar"]', 'by = ["nose"]', 4, "by"),
        ('directions = ["up", "down"]', 'directions = ["in"]', 7, "directions"),
        ('name = "interval-echo"', 'name = "a:b"', 1, "name"),
        ('by = ["voice", "guitar"]', 'by = ["voice", "voice"]', 4, "by"),
        ("seconds = 14", '"seconds" = 0', 8, "seconds"),
        ('title = "Two notes, echoed"', 'title = """x\nseconds = 1\n"""', 3, "title"),
        ('title = "Two notes, echoed"', f'title = "{"x" * 81}"', 3, "title"),
        ("instant_s = 1.5", "instant_s = 9.5", 17, "instant_s"),
    ],
)
def test_a_wrong_field_is_named_with_file_and_line(old: str, new: str, line: int, field: str) -> None:
    text = _text()
    assert old in text
    with pytest.raises(DrillDataError) as caught:
        load_drill("teacher/mine.toml", text.replace(old, new, 1).encode())
    assert f"teacher/mine.toml, line {line}: " in caught.value.message
    assert f"“{field}”" in caught.value.message


def test_lines_are_counted_whatever_an_editor_does() -> None:
    text = _text().replace("cents = 35", "cents = 80", 1)
    for written in ("\ufeff" + text, text.replace("\n", "\r\n")):
        with pytest.raises(DrillDataError, match="line 24: the field “cents”"):
            load_drill("t.toml", written.encode())
    head = text[: text.index("[[level]]")]
    for level in ("[level]\ncents = 50\n", "level = [1, 2]\n", "level = [{cents = 5}]\n"):
        with pytest.raises(
            DrillDataError, match=rf"line {head.count(chr(10)) + 1}: the field “(level|cents)”"
        ):
            load_drill("t.toml", (head + level).encode())


def test_wrong_patterns_are_named() -> None:
    rhythm = _text("rhythm-echo")
    for old, new in (('["0", "1", "2", "3"], ', '["0", "0"], '), ('["0", "1", "2", "3"], ', '["one"], ')):
        with pytest.raises(DrillDataError, match="line 11: the field “beat”"):
            load_drill("r.toml", rhythm.replace(old, new, 1).encode())
    home = _text("home-note").replace('["1", "2", "3", "5", "4", "2"]', '["1", "0"]', 1)
    with pytest.raises(DrillDataError, match="“major”"):
        load_drill("h.toml", home.encode())
    with pytest.raises(DrillDataError, match="“M2”"):
        load_drill("i.toml", (_text() + '\n[patterns]\nM2 = [["1"]]\n').encode())


@pytest.mark.parametrize(
    "data", [b"\xff\xfe", b"name = ", b"[[level]]\n", b"", b"level = 3\n" * 20, b"#" * 200_000]
)
def test_what_is_no_drill_is_said_kindly(data: bytes) -> None:
    with pytest.raises(DrillDataError, match=r"some\.toml"):
        load_drill("some.toml", data)
    assert MOST_BYTES < 200_000


def test_two_drills_of_one_name_are_refused() -> None:
    data = _text().encode()
    with pytest.raises(DrillDataError, match="already called"):
        load_drills([("a.toml", data), ("b.toml", data)])


def _read_or_refused(data: bytes) -> None:
    try:
        drill = load_drill("any.toml", data)
    except DrillDataError as error:
        message = error.message
    else:
        message = f"any.toml {drill.name}"
    assert "any.toml" in message


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    _read_or_refused(data)


@given(
    cut=st.integers(0, 2000), word=st.sampled_from(["[", "]", "=", '"', "x", "\n[[level]]\n", "-1", "nan"])
)
def test_damaged_drills_are_read_or_refused(cut: int, word: str) -> None:
    text = _text("rhythm-echo")
    at = cut % len(text)
    _read_or_refused((text[:at] + word + text[at:]).encode())


def test_skill_names_can_be_read_back() -> None:
    key = SkillKey("interval-echo", "P5", Direction.UP, Register.ANY, "voice")
    assert key.text == "interval-echo:P5:up:any:voice"
    for drill in all_drills():
        for skill in drill.skills():
            assert SkillKey.parse(skill.text) == skill
    with pytest.raises(ValueError, match="not a skill"):
        SkillKey.parse("interval-echo:P5")
