"""Which kind of practice the time on a screen counts as."""

from collections.abc import Mapping

from coach.practice.stages import Stage
from coach.sessions.stopwatch import Activity

_EAR = frozenset({"ear", "drill"})
_PIECE = frozenset(
    {"choose", "files", "record", "beat", "fit", "workbench", "together", "play", "finish", "first_run"}
)
_NO_PRACTICE = frozenset({"backup", "backup_folder", "reports"})
"""Errands on which a file is looked for that is no part of a piece."""
_STAGES = {"together": Stage.TOGETHER, "play": Stage.PLAYED}


def activity_of(word: str, about: Mapping[str, str]) -> Activity | None:
    """What is practised on the screen of a word; ``None`` where one only looks."""
    if word == "tuner":
        return Activity("tune")
    if word in _EAR:
        return Activity("ear")
    if word not in _PIECE or about.get("want") in _NO_PRACTICE:
        return None
    return Activity("piece", about.get("section"), _stage(word, about))


def _stage(word: str, about: Mapping[str, str]) -> Stage | None:
    if word == "workbench":
        return Stage.BASS if about.get("line") == "bass" else Stage.MELODY
    return _STAGES.get(word)
