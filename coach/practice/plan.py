"""Today's plan: tune and warm up, the ear set, one step on the piece, rest."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from coach.practice.habits import PIECE_SHARE
from coach.practice.next_step import LEAST_MINUTES, WorkStep, next_steps
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.practice.stages import Stage

TUNE_MINUTES = 2
"""Six strings, and a few notes to warm up (our own estimate)."""
EAR_MINUTES = (3, 12)
"""Three to five are proposed, eight to twelve are the player's own choice (the product's own rule)."""
MANY_MISSED_DAYS = 3
"""After so many days without practice the plan gets smaller, not longer (the product's own rule)."""
SMALLER_SHARE, LEAST_DAY_MINUTES = 0.5, 8
"""So much of the usual day is left then, and never less than these minutes."""
REST_EVERY_MINUTES, REST_MINUTES = 25, 5
"""Five minutes of rest in every half hour (the product's own caution)."""
LONGEST_STRETCH_MINUTES = 15
"""On the piece, in a day long enough for a rest: then the rest comes between."""
DRILLS_A_MINUTE = 4
"""What the drills' own data says a minute holds, roughly."""
SHORT_DAY_MINUTES = 12
"""Below, a minute must do for tuning."""
DAY_OFF_WORDS = "Today is none of your days: a rest is as good as a small step."


class StepKind(StrEnum):
    """The kinds of step in a day."""

    TUNE = "tune"
    EAR = "ear"
    PIECE = "piece"
    REST = "rest"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the day; ``work`` says more about a step on the piece."""

    kind: StepKind
    title: str
    minutes: int
    section: str | None = None
    stage: Stage | None = None
    work: WorkStep | None = None
    done: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan of one day.

    Parameters
    ----------
    minutes
        Of all steps together.
    standing
        Where the piece stands, in one sentence; on a weekday that is none of the player's, that rest is fine.
    ask_aim
        Whether this is the time to ask for the aim: the first section is good enough, and there is none yet.
    """

    day: date
    steps: tuple[Step, ...]
    standing: str
    ask_aim: bool = False

    @property
    def minutes(self) -> int:
        """Of all steps together."""
        return sum(step.minutes for step in self.steps)


def plan_day(progress: Progress, settings: Settings, today: date) -> Plan:
    """The plan for a day, from where the player stands that morning or, with steps done, during the day."""
    missed = missed_days(progress, settings, today)
    minutes = _day_minutes(settings, missed)
    tune, ear, piece = _shares(minutes, _asked_ear_minutes(settings))
    first_day = progress.started_on in {None, today}
    works = next_steps(progress, piece, first_day=first_day)
    tuning = [Step(StepKind.TUNE, "Tune, and warm up hands and voice", tune)]
    hearing = [Step(StepKind.EAR, _ear_title(progress, today), ear)] if ear else []
    working = _work_steps(works, piece, minutes)
    # On the first day the three notes come before everything that can wait.
    order = [*tuning, *working, *hearing] if first_day else [*tuning, *hearing, *working]
    left = minutes - sum(step.minutes for step in order)
    if left > 0:
        order.append(Step(StepKind.REST, "Rest: let hands and ears settle", min(left, REST_MINUTES)))
    steps = tuple(_marked(step, progress, today, piece) for step in order)
    said = standing(progress)
    if not first_day and _is_day_off(progress, settings, today):
        said = f"{said} {DAY_OFF_WORDS}"
    return Plan(today, steps, said, ask_aim(progress))


def ear_minutes(progress: Progress, settings: Settings, today: date) -> int:
    """Minutes of today's ear set, as the day's plan has them; the shortest set on a day too short for one."""
    _, ear, _ = _shares(
        _day_minutes(settings, missed_days(progress, settings, today)), _asked_ear_minutes(settings)
    )
    return ear or EAR_MINUTES[0]


def missed_days(progress: Progress, settings: Settings, today: date) -> int:
    """Days without practice between the last one and today; where weekdays are meant, only these."""
    last = progress.practised_before(today)
    if last is None:
        return 0
    between = (last + timedelta(days=step) for step in range(1, (today - last).days))
    return sum(_meant(settings, day) for day in between)


def _meant(settings: Settings, day: date) -> bool:
    """Whether the player means to practise on a day; every day where nothing was said."""
    return not settings.practice_days or day.weekday() in settings.practice_days


def _is_day_off(progress: Progress, settings: Settings, today: date) -> bool:
    return not _meant(settings, today) and not progress.day(today).practised


def ask_aim(progress: Progress) -> bool:
    """Whether to ask for the aim now: it is asked once the pace of a whole section is known."""
    piece = progress.piece
    return piece is not None and piece.aim is None and any(s.once_good_enough for s in piece.sections)


def standing(progress: Progress) -> str:
    """Where the piece in hand stands, in one sentence."""
    piece = progress.piece
    if piece is None:
        done = len(progress.finished)
        if not progress.pieces:
            return "No piece yet: first find three notes of a tune."
        return f"No piece is in hand; {done} finished so far." if done else "No piece is in hand."
    if not piece.sections:
        return f"“{piece.title}” is chosen and not cut into sections yet."
    good = sum(section.good_enough for section in piece.sections)
    total = len(piece.sections)
    if good == total:
        every = {1: "its one section is", 2: "both sections are"}.get(total, f"all {total} sections are")
        left = "your take is kept: call it done" if piece.takes else "one whole take is what is left"
        return f"“{piece.title}”: {every} good enough; {left}."
    section = piece.next_section
    name = section.name if section is not None else piece.sections[0].name
    are = "is" if good == 1 else "are"
    return f"“{piece.title}”: {good} of {total} sections {are} good enough; section {name} is next."


def _day_minutes(settings: Settings, missed: int) -> int:
    asked = min(60, max(5, settings.minutes_a_day))
    if missed >= MANY_MISSED_DAYS:
        return min(asked, max(LEAST_DAY_MINUTES, round(asked * SMALLER_SHARE)))
    return asked


def _asked_ear_minutes(settings: Settings) -> int:
    least, most = EAR_MINUTES
    return min(most, max(least, settings.ear_minutes))


def _shares(minutes: int, asked_ear: int) -> tuple[int, int, int]:
    """Minutes to tune, for the ear set and for the piece; what is left is rest."""
    least_ear = EAR_MINUTES[0]
    if minutes < SHORT_DAY_MINUTES:
        ear = least_ear if minutes >= 1 + least_ear + 3 else 0
        return 1, ear, minutes - 1 - ear
    piece = round(PIECE_SHARE * minutes)
    rest = REST_MINUTES if minutes > REST_EVERY_MINUTES else 1
    return TUNE_MINUTES, max(least_ear, min(asked_ear, minutes - TUNE_MINUTES - piece - rest)), piece


def _ear_title(progress: Progress, today: date) -> str:
    due = sum(card.due.date() <= today for card in progress.schedule.cards.values())
    return f"Ear set, {due} due" if due else "Ear set"


def _work_steps(works: tuple[WorkStep, ...], most: int, day_minutes: int) -> list[Step]:
    """The steps on the piece in whole minutes, within what the day has for it, with a rest in a long day."""
    steps: list[Step] = []
    left = most
    for work in works:
        minutes = max(1, min(left, round(work.minutes)))
        steps.append(Step(StepKind.PIECE, work.title, minutes, work.section, work.stage, work))
        left -= minutes
        if left < 1:
            break
    if 0 < left < LEAST_MINUTES:
        steps[-1] = replace(steps[-1], minutes=steps[-1].minutes + left)
        left = 0
    if day_minutes > REST_EVERY_MINUTES and most - left > LONGEST_STRETCH_MINUTES:
        return _with_rest(steps)
    return steps


def _with_rest(steps: list[Step]) -> list[Step]:
    """The longest step cut in two by a rest."""
    place = max(range(len(steps)), key=lambda index: steps[index].minutes)
    longest = steps[place]
    half = longest.minutes // 2
    rest = Step(StepKind.REST, "Rest: put the guitar down, shake out both hands", REST_MINUTES)
    halves = [replace(longest, minutes=half), rest, replace(longest, minutes=longest.minutes - half)]
    return [*steps[:place], *halves, *steps[place + 1 :]]


def _marked(step: Step, progress: Progress, today: date, piece_minutes: int) -> Step:
    """A step that was done today already is marked so; the piece's once its minutes are used up."""
    day = progress.day(today)
    # Half the minutes, or for quick ears as many drills as usually fill them.
    heard = day.ear_s >= 30 * step.minutes or day.drills >= DRILLS_A_MINUTE * step.minutes / 2
    done = {
        StepKind.TUNE: day.tune_s > 0,
        StepKind.EAR: heard,
        StepKind.PIECE: day.piece_s >= 60 * piece_minutes,
    }
    return replace(step, done=done.get(step.kind, False))
