from coach.practice.stages import Stage
from coach.sessions.stopwatch import Activity
from coach.ui.activity import activity_of
from coach.ui.screens.table import SCREENS


def test_screens_are_told_apart_by_what_is_practised_on_them() -> None:
    assert activity_of("workbench", {"section": "B", "line": "bass"}) == Activity("piece", "B", Stage.BASS)
    assert activity_of("play", {"section": "A"}) == Activity("piece", "A", Stage.PLAYED)
    assert activity_of("beat", {"section": "A", "line": "melody"}) == Activity("piece", "A")
    assert activity_of("drill", {}) == Activity("ear")
    assert activity_of("files", {"want": "recording"}) == Activity("piece")
    assert activity_of("files", {"want": "backup"}) is None


def test_all_time_counts_but_that_on_screens_where_one_only_looks_or_chooses() -> None:
    uncounted = {screen.word for screen in SCREENS if activity_of(screen.word, {}) is None}
    assert uncounted == {"today", "setup", "piece", "log", "keep", "remind", "teacher"}
