"""When the piece will be finished: p10, p50, p90 of the day, by simulation from the player's own pace.

Every run draws a pace and habits that fit what is known, works through what is left of the piece day by day,
and ends on some day; the percentiles over the runs are the forecast. Checked for coverage on simulated
learners (as in Hyndman and Athanasopoulos, Forecasting: Principles and Practice, 3rd ed. 2021, sections 5.5
and 5.9) by ``tests/bench/forecast.py``.
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from coach.practice.habits import DrawnHabits, Habits
from coach.practice.pace import DrawnPace, Pace, sections_before
from coach.practice.piece_state import Cell, PieceState, SectionState
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.practice.stages import SECTION_STAGES, Stage

RUNS = 400
HORIZON_DAYS = 730
"""Nothing is foretold beyond two years."""
EARLY, LATE = 0.1, 0.9
CHOOSING_MINUTES = 12.0
"""For beat, sections and key, where they are not chosen yet. Our own assumption, no source."""
JOINING_MINUTES_A_BAR = 1.0
TAKE_MINUTES = 12.0
"""For joining the sections and recording the whole take. Our own assumptions, no source."""
AGAIN_SHARE = 1 / 3
"""A stage that was settled before takes a third of its time again. Our own assumption, no source."""


@dataclass(frozen=True, slots=True)
class StageLeft:
    """A stage that is not settled.

    Parameters
    ----------
    bars
        Of its section.
    number
        Of its section, counted from 1 over all pieces.
    spent_minutes
        On it, already.
    found
        Share of the section, 0 to 1, that the notes found so far reach over.
    """

    stage: Stage
    bars: float
    number: int
    spent_minutes: float
    found: float = 0.0


@dataclass(frozen=True, slots=True)
class WorkLeft:
    """What is left of a piece.

    Parameters
    ----------
    choosing_minutes
        For what is not chosen yet, at the prior pace.
    ending_minutes
        For joining the sections and the take, all of it, at the prior pace.
    ending_spent
        Minutes on that, already.
    """

    stages: tuple[StageLeft, ...]
    choosing_minutes: float = 0.0
    ending_minutes: float = 0.0
    ending_spent: float = 0.0

    def minutes(self, pace: DrawnPace, rng: Random) -> float:
        """Minutes that it takes at one possible pace."""
        parts = (
            pace.minutes(left.stage, left.bars, left.number, left.spent_minutes, rng, found=left.found)
            for left in self.stages
        )
        ending = pace.ending_minutes(self.ending_minutes, self.ending_spent, rng)
        return sum(parts) + self.choosing_minutes * pace.factor + ending


@dataclass(frozen=True, slots=True)
class Forecast:
    """The day of the finish: one time in ten by ``p10``, half the time by ``p50``, nine in ten by ``p90``."""

    p10: date
    p50: date
    p90: date
    own_stages: int
    """Settled stages that the pace was learned from; 0: only what beginners usually need is known."""


def work_left(piece: PieceState, sections_before: int = 0) -> WorkLeft:
    """What is left of a piece that is cut into sections."""
    stages = tuple(
        _left(piece, section, stage, sections_before + index + 1)
        for index, section in enumerate(piece.sections)
        for stage in SECTION_STAGES
        if section.cell(stage) is not Cell.SETTLED
    )
    choosing = 0.0 if piece.key is not None else CHOOSING_MINUTES / 2
    ending = 0.0 if piece.takes and not stages else JOINING_MINUTES_A_BAR * piece.bars + TAKE_MINUTES
    return WorkLeft(stages, choosing, ending, piece.ending_s / 60)


def _left(piece: PieceState, section: SectionState, stage: Stage, number: int) -> StageLeft:
    bars = section.bars(piece.meter)
    if _was_settled(section, stage):
        return StageLeft(stage, bars * AGAIN_SHARE, number, 0.0)
    spent_minutes = section.seconds.get(stage, 0.0) / 60
    return StageLeft(stage, bars, number, spent_minutes, _found(section, stage))


def _found(section: SectionState, stage: Stage) -> float:
    """How far the notes of a line that is being worked on reach."""
    if stage not in {Stage.MELODY, Stage.BASS}:
        return 0.0
    ends = [note.onset + note.duration for note in section.line(stage.value).notes]
    reached = max(ends, default=section.onset) - section.onset
    return min(1.0, max(0.0, float(reached / (section.end - section.onset))))


def _was_settled(section: SectionState, stage: Stage) -> bool:
    if stage in {Stage.MELODY, Stage.BASS}:
        return section.line(stage.value).reopenings > 0
    return section.once_good_enough


def forecast(
    progress: Progress, settings: Settings, today: date, rng: Random, *, work: WorkLeft | None = None
) -> Forecast | None:
    """The forecast for the piece in hand, ``None`` where there is none or it is not cut into sections.

    Parameters
    ----------
    rng
        Seed it alike to compare forecasts.
    work
        In the place of what is left, for asking “what if”.
    """
    piece = progress.piece
    if piece is None or not piece.sections:
        return None
    left = work or work_left(piece, sections_before(progress, piece))
    pace, habits = Pace.of(progress), Habits.of(progress, settings, today)
    practised_today = progress.day(today).piece_s > 0
    first = today + timedelta(days=1) if practised_today else today
    draws = zip(range(RUNS), pace.draws(rng), habits.draws(rng), strict=False)
    runs = sorted(_days_of_run(left.minutes(p, rng), h, first, rng) for _, p, h in draws)
    p10, p50, p90 = (first + timedelta(days=day) for day in _range(runs))
    return Forecast(p10, p50, p90, pace.count)


def _days_of_run(minutes: float, habits: DrawnHabits, first: date, rng: Random) -> int:
    for day, spent in habits.sessions(first, rng):
        minutes -= spent
        if minutes <= 0 or day >= HORIZON_DAYS:
            return min(day, HORIZON_DAYS)
    raise ValueError("sessions come without end")


def _range(ordered: list[int]) -> tuple[int, int, int]:
    """The days of p10, p50 and p90.

    Whole days are coarse where few are left: counted whole at both ends they would hold more than the eight
    in ten that are meant. So a day at either end counts half (a mid-distribution function, Parzen 2004; from
    memory).
    """
    count = len(ordered)
    middles = {
        day: (bisect_left(ordered, day) + bisect_right(ordered, day)) / 2 / count for day in set(ordered)
    }
    early = min(day for day, middle in middles.items() if middle >= EARLY)
    late = max(day for day, middle in middles.items() if middle <= LATE)
    return early, ordered[(count - 1) // 2], late
