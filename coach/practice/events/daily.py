"""Daily practice: drills, tuning, time, aims."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from coach.practice.stages import Stage


@dataclass(frozen=True, slots=True)
class DrillAnswered:
    """One drill was answered and graded."""

    kind: ClassVar[str] = "drill_answered"
    version: ClassVar[int] = 1
    drill: str
    skill: str
    level: int
    by: str
    seed: int
    right: bool
    credit: float
    cents: float | None
    answer_s: float | None
    word: str
    heard: tuple[int, ...] = ()
    piece: str | None = None
    took_s: float | None = None
    """From the first sound of the prompt to the grade, hearing it again included."""


@dataclass(frozen=True, slots=True)
class DrillPassed:
    """The player let a drill pass (“I can't”), which is no fault."""

    kind: ClassVar[str] = "drill_passed"
    version: ClassVar[int] = 1
    drill: str
    skill: str
    level: int


@dataclass(frozen=True, slots=True)
class StringTuned:
    """A string came in tune, or was left at so many cents."""

    kind: ClassVar[str] = "string_tuned"
    version: ClassVar[int] = 1
    string: int
    cents: float


@dataclass(frozen=True, slots=True)
class VoiceHeard:
    """The comfortable range of the voice, found or widened (MIDI)."""

    kind: ClassVar[str] = "voice_heard"
    version: ClassVar[int] = 1
    lowest: int
    highest: int


@dataclass(frozen=True, slots=True)
class TimeSpent:
    """Practice time: ``activity`` is ``tune``, ``ear``, ``piece`` or ``rest``."""

    kind: ClassVar[str] = "time_spent"
    version: ClassVar[int] = 1
    activity: str
    seconds: float
    piece: str | None = None
    section: str | None = None
    stage: Stage | None = None


@dataclass(frozen=True, slots=True)
class Calibrated:
    """The round trip of the sound device was measured after opening it."""

    kind: ClassVar[str] = "calibrated"
    version: ClassVar[int] = 1
    device: str
    round_trip_ms: float


@dataclass(frozen=True, slots=True)
class AimSet:
    """The day by which the player would like to finish; None takes the aim away."""

    kind: ClassVar[str] = "aim_set"
    version: ClassVar[int] = 1
    piece: str
    day: date | None


@dataclass(frozen=True, slots=True)
class SmallerAccepted:
    """A smaller piece of work was accepted so that the aim can be met."""

    kind: ClassVar[str] = "smaller_accepted"
    version: ClassVar[int] = 1
    piece: str
    proposal: str
    dropped_sections: tuple[str, ...] = ()
