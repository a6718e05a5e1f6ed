"""A report as a value: what the player shares with the teacher, and what every form of it is made of."""

from dataclasses import dataclass
from datetime import date, datetime

from coach.practice.piece_state import Cell
from coach.practice.stages import Stage

FORMAT = 1
"""Of the JSON form; raise it when a field changes its meaning."""


@dataclass(frozen=True, slots=True)
class SectionReport:
    """One section: its four stages and what they cost."""

    name: str
    bars: float
    melody: Cell
    bass: Cell
    together: Cell
    played: Cell
    minutes: float
    checks: int
    hints: int
    open_questions: int
    reopenings: int
    right_share: float | None
    hardest_bar: int | None


@dataclass(frozen=True, slots=True)
class PacePointReport:
    """Share of a piece's stages settled by the end of a day, 0 to 1."""

    day: date
    share: float


@dataclass(frozen=True, slots=True)
class PieceReport:
    """One piece; ``state`` is ``in hand``, ``finished`` or ``set aside``."""

    piece: str
    title: str
    state: str
    chosen_on: date
    finished_on: date | None
    aim: date | None
    minutes: float
    takes: int
    sections: tuple[SectionReport, ...] = ()
    pace: tuple[PacePointReport, ...] = ()
    next_time: tuple[str, ...] = ()
    made_smaller: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DayReport:
    """One day with practice, in minutes."""

    day: date
    tune: float
    ear: float
    piece: float
    drills: int
    drills_right: int
    checks: int
    hints: int

    @property
    def practice(self) -> float:
        """All minutes."""
        return self.tune + self.ear + self.piece


@dataclass(frozen=True, slots=True)
class SkillReport:
    """One skill of the ear: how sure it is, 0 to 1, over its last answers."""

    skill: str
    level: int
    answers: int
    sureness: float


@dataclass(frozen=True, slots=True)
class WhereReport:
    """Where the work stands, and since when; ``stuck`` by the rule of `coach.practice.logbook`."""

    section: str
    stage: Stage
    since: date
    practice_days: int
    minutes: float
    usual_minutes: float
    checks: int
    hints: int
    stuck: bool


@dataclass(frozen=True, slots=True)
class ForecastReport:
    """When the piece in hand will be done."""

    p10: date
    p50: date
    p90: date
    on_track: bool | None
    advice: str | None


@dataclass(frozen=True, slots=True)
class Entry:
    """One event of note, in a sentence."""

    at: datetime
    text: str


@dataclass(frozen=True, slots=True)
class Report:
    """Everything a report tells.

    Parameters
    ----------
    name
        Who it is about, as the player wants to be called; may be empty.
    since
        First day of the days and entries in it; ``None`` for all.
    standing
        Where the piece in hand stands, in a sentence.
    entries
        The latest events of note; single drills and checks are counted in the days.
    more_entries
        How many earlier ones were left out.
    """

    made_on: date
    since: date | None
    name: str
    standing: str
    where: WhereReport | None = None
    forecast: ForecastReport | None = None
    pieces: tuple[PieceReport, ...] = ()
    days: tuple[DayReport, ...] = ()
    skills: tuple[SkillReport, ...] = ()
    entries: tuple[Entry, ...] = ()
    more_entries: int = 0
    format: int = FORMAT
