"""What the microphone hears now, as the level bar shows it."""

from dataclasses import dataclass
from typing import Protocol

from coach.hearing.level import Level

QUIETEST_DB = -72.0
"""Left end of the level bar: below the noise of any microphone (our own choice)."""
SOUND_OVER_FLOOR_DB = 12.0
"""So much over the room's noise counts as “I hear you” (our own choice)."""


@dataclass(frozen=True, slots=True)
class HeardLevel:
    """The level bar's values.

    Parameters
    ----------
    level_db
        Loudness now, dB below full scale.
    floor_db
        The room's noise, ``None`` until it is known.
    word
        What to do or that all is well, one short sentence.
    """

    level_db: float
    floor_db: float | None = None
    word: str = ""


class LevelSource(Protocol):
    """Whoever listens."""

    def level(self) -> HeardLevel | None:
        """The level now, ``None`` while nothing is heard (deaf or no microphone)."""
        ...


def bar_share(level_db: float) -> float:
    """Where a level lies on the bar, 0 (left) to 1 (full scale)."""
    return min(1.0, max(0.0, 1.0 - level_db / QUIETEST_DB))


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
