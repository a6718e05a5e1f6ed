from pathlib import Path

import pytest

from coach.drills.context import UNKNOWN_VOICE
from coach.drills.kinds import Kind
from coach.errors import DrillDataError
from coach.practice.settings import Settings, VoiceRangeSetting
from coach.sessions.ear.library import bundled_melody, context_of, drills_of, readable_drills
from coach.store.folders import DataFolder
from tests.drill_answers import TUNE, all_drills

ROOT = Path(__file__).parents[2]
EXERCISES = DataFolder(ROOT / "exercises")


def test_the_projects_own_drills_are_found(tmp_path: Path) -> None:
    assert drills_of(EXERCISES, tmp_path) == all_drills()


def test_a_teachers_drills_join_in_their_order(tmp_path: Path) -> None:
    folder = tmp_path / "drills"
    folder.mkdir()
    text = (ROOT / "exercises/drills/phrase-echo.toml").read_text()
    (folder / "long.toml").write_text(text.replace('"phrase-echo"', '"long-phrases"'))
    drills = drills_of(EXERCISES, tmp_path)
    assert len(drills) == len(Kind) + 1
    assert [drill.kind.order for drill in drills] == sorted(drill.kind.order for drill in drills)
    (folder / "huge.toml").write_text("#" * 200_000)
    with pytest.raises(DrillDataError, match=r"huge\.toml"):
        drills_of(EXERCISES, tmp_path)


def test_one_broken_file_stops_no_practice(tmp_path: Path) -> None:
    folder = tmp_path / "drills"
    folder.mkdir()
    text = (ROOT / "exercises/drills/phrase-echo.toml").read_text()
    (folder / "a.toml").write_text(text.replace("seconds = 16", "seconds = 1600"))
    (folder / "b.toml").write_text(text.replace('"phrase-echo"', '"long-phrases"'))
    (folder / "c.toml").write_text(text)
    drills, faults = readable_drills(EXERCISES, tmp_path)
    assert {drill.name for drill in drills} == {drill.name for drill in all_drills()} | {"long-phrases"}
    assert "a.toml, line" in faults[0]
    assert "c.toml: another drill" in faults[1]


def test_the_first_section_of_the_first_piece_is_there_for_piece_drills() -> None:
    assert bundled_melody(EXERCISES) == TUNE


@pytest.mark.parametrize(
    ("chosen", "heard", "voice"),
    [
        (None, None, UNKNOWN_VOICE),
        (None, (52, 55), UNKNOWN_VOICE),
        (None, (45, 62), (45, 62)),
        (VoiceRangeSetting(57, 72), (45, 62), (57, 72)),
    ],
)
def test_a_voice_is_believed_once_it_is_wide_enough(
    chosen: VoiceRangeSetting | None, heard: tuple[int, int] | None, voice: tuple[int, int]
) -> None:
    context = context_of(Settings(voice=chosen), voice=heard, melody=TUNE)
    assert context.voice == voice
    assert context.melody == TUNE
    assert context.tuning == Settings().tuning
