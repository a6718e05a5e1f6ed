"""The listener's level as the level bar shows it."""

from typing import Protocol

from coach.hearing.level import Level
from coach.ui.presenters.heard import HeardLevel

SOUND_OVER_FLOOR_DB = 12.0
"""So much over the room's noise counts as “I hear you” (our own choice)."""


class Listens(Protocol):
    """As much of the `Listener` as a level bar needs."""

    @property
    def level(self) -> Level | None:
        """The last reading."""
        ...

    @property
    def deaf(self) -> bool:
        """Whether the ear is closed now."""
        ...

    @property
    def room_talks(self) -> bool:
        """Whether somebody in the room speaks."""
        ...


class ListenerLevel:
    """The `LevelSource` of a listener."""

    def __init__(self, listener: Listens) -> None:
        self._listener = listener

    def level(self) -> HeardLevel | None:
        """The level now with what to do about it."""
        level = self._listener.level
        if level is None:
            return None
        words = level_words(level, deaf=self._listener.deaf, talks=self._listener.room_talks)
        return HeardLevel(level.now_db, level.floor_db, words)


def level_words(level: Level, *, deaf: bool, talks: bool = False) -> str:
    """What the level means, one short sentence."""
    if level.clipping:
        return "Too loud for the microphone: move back a little."
    if deaf:
        return "Not listening while this sounds."
    if talks:
        return "The room talks: I wait until it is quiet."
    if level.noisy:
        return "The room is loud: soft notes may be missed."
    return "I hear you." if level.now_db > level.floor_db + SOUND_OVER_FLOOR_DB else "Listening."
