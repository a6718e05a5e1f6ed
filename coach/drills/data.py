"""A drill as data: everything about it that is not code."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from coach.drills.kinds import By, Kind
from coach.tones.prompt import Timbre


class Direction(StrEnum):
    """Which way an interval goes; ``any`` where a skill has no direction."""

    ANY = "any"
    UP = "up"
    DOWN = "down"


class Register(StrEnum):
    """Which third of the player's range the notes come from; ``any`` for all of it."""

    ANY = "any"
    LOW = "low"
    MID = "mid"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Level:
    """How hard a drill is at one level.

    Parameters
    ----------
    timbres
        One of these sounds.
    cents
        How far a sung note may be off: 50, then 35, then 25.
    reach
        Notes lie so many semitones about the middle of the register.
    note_s
        Length of a sounding note.
    silence_s
        Silence between the prompt and the answer.
    notes
        Least and most notes (or changes) of a phrase.
    tempo_bpm
        Of everything in time.
    tolerance_s
        How far a beat may be off.
    broken
        Whether a chord's notes come one after another before they come together.
    sure_s, instant_s
        An answer that begins so soon is *sure*, *instant*.
    """

    timbres: tuple[Timbre, ...] = (Timbre.PLUCK,)
    cents: float = 50.0
    reach: int = 6
    note_s: float = 1.0
    silence_s: float = 0.3
    notes: tuple[int, int] = (3, 3)
    tempo_bpm: float = 80.0
    tolerance_s: float = 0.11
    broken: bool = True
    sure_s: float = 5.0
    instant_s: float = 1.5


@dataclass(frozen=True, slots=True)
class SkillKey:
    """What one card of the schedule is about.

    Parameters
    ----------
    drill
        Name of the drill.
    item
        Interval, degree, bass move, rhythm, string: as the drill's data lists them.
    direction, register
        ``any`` where it makes no difference.
    by
        ``voice``, ``guitar``, or ``tap`` where a finger answers as well.
    """

    drill: str
    item: str
    direction: Direction
    register: Register
    by: str

    @property
    def text(self) -> str:
        """As it stands in the log, such as ``interval-echo:P5:up:any:voice``."""
        return f"{self.drill}:{self.item}:{self.direction}:{self.register}:{self.by}"

    @classmethod
    def parse(cls, text: str) -> "SkillKey":
        """Read what `text` gives; ``ValueError`` if it is none."""
        parts = text.split(":")
        if len(parts) != 5:
            raise ValueError(f"not a skill: {text}")
        drill, item, direction, register, by = parts
        return cls(drill, item, Direction(direction), Register(register), by)


@dataclass(frozen=True, slots=True)
class Drill:
    """One drill.

    Parameters
    ----------
    name
        A word, unique among all drills.
    kind
        Which code makes its prompts.
    title
        For the player.
    by
        How its skills are answered; empty for a drill that a finger answers as well.
    items
        What it is about, in the order of meeting.
    first
        How many of the items are met first of all (level one).
    directions, registers
        Each makes a skill of its own.
    seconds
        What one prompt with its answer takes, on the whole.
    levels
        From easy to hard, at least one.
    patterns
        Rhythms (onsets in quarters) or phrases (degrees) by item.
    """

    name: str
    kind: Kind
    title: str
    by: tuple[By, ...]
    items: tuple[str, ...]
    first: int
    directions: tuple[Direction, ...]
    registers: tuple[Register, ...]
    seconds: float
    levels: tuple[Level, ...]
    patterns: Mapping[str, tuple[tuple[str, ...], ...]] = field(default_factory=dict)

    def level(self, number: int) -> Level:
        """A level by number from 1; beyond the hardest, the hardest. ``ValueError`` below 1."""
        if number < 1:
            raise ValueError(f"levels are counted from 1, not {number}")
        return self.levels[min(number, len(self.levels)) - 1]

    def skills(self) -> tuple[SkillKey, ...]:
        """All skills, in the order of meeting."""
        by = tuple(self.by) or ("tap",)
        return tuple(
            SkillKey(self.name, item, direction, register, str(player))
            for item in self.items
            for direction in self.directions
            for register in self.registers
            for player in by
        )
