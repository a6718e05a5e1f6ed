"""What the teacher's screen shows: learners side by side, the form of a pack, the form of a reply."""

from dataclasses import dataclass
from datetime import date
from enum import Enum

from coach.practice.stages import Stage
from coach.reports.side_by_side import LearnerRow
from coach.sessions.teaching import Learners

STAGE_WORDS = {
    Stage.CHOOSE: "choosing",
    Stage.MELODY: "the tune",
    Stage.BASS: "the bass",
    Stage.TOGETHER: "both lines together",
    Stage.PLAYED: "playing",
}


class Mode(Enum):
    """Which of the three pages is open."""

    LEARNERS = "learners"
    PACK = "pack"
    REPLY = "reply"


@dataclass(frozen=True, slots=True)
class LearnerCard:
    """One learner.

    Parameters
    ----------
    file
        Of the report; a reply is begun with it.
    where, since
        What the work stands at, and since when; empty where no piece is in hand.
    stuck
        Whether it has not moved on for longer than usual.
    facts
        What is read second.
    """

    file: str
    name: str
    where: str
    since: str
    stuck: bool
    facts: str
    can_reply: bool


@dataclass(frozen=True, slots=True)
class PackForm:
    """A pack to be made: the pieces to choose from, and what goes in."""

    pieces: tuple[tuple[str, str], ...]
    chosen: str
    word: str
    with_recording: bool
    has_recording: bool
    facts: str


@dataclass(frozen=True, slots=True)
class ReplyForm:
    """A reply to be written.

    Parameters
    ----------
    sections
        What may be left out: pairs of a section and its words, the first of them “all stay”.
    note
        The corrected note as typed; ``can_correct`` only where this device knows the piece's beat.
    """

    name: str
    where: str
    word: str
    sections: tuple[tuple[str, str], ...]
    without: str
    one_more_change: bool
    line: str
    note: str
    can_correct: bool


@dataclass(frozen=True, slots=True)
class TeacherView:
    """One of the three pages.

    Parameters
    ----------
    folder
        The watched folder, empty while there is none.
    troubles
        A sentence for each file in it that is no report.
    said
        What was written, and where; ``wrong`` what has to be mended.
    """

    mode: Mode
    sentence: str
    action: str
    second: str
    folder: str = ""
    learners: tuple[LearnerCard, ...] = ()
    troubles: tuple[str, ...] = ()
    pack: PackForm | None = None
    reply: ReplyForm | None = None
    said: str = ""
    wrong: str = ""


def learners_sentence(found: Learners) -> str:
    """How many are stuck, in one sentence."""
    count = len(found.learners)
    stuck = sum(each.row.stuck for each in found.learners)
    if not count:
        return "No report is in this folder yet: learners write one with “Share with teacher” in their log."
    who = "1 learner" if count == 1 else f"{count} learners"
    if not stuck:
        return f"{who}: nobody is stuck."
    return f"{who}: {stuck} {'is' if stuck == 1 else 'are'} stuck."


def learner_card(row: LearnerRow) -> LearnerCard:
    """One learner as the last report tells."""
    where = since = ""
    if row.section is not None and row.stage is not None:
        where = f"{STAGE_WORDS[row.stage].capitalize()} of section {row.section}"
        where += f", “{row.title}”" if row.title else ""
    elif row.title:
        where = f"“{row.title}”"
    if row.since is not None:
        days = "1 practice day" if row.practice_days == 1 else f"{row.practice_days} practice days"
        since = f"{'Stuck here' if row.stuck else 'Here'} since {_day(row.since)}, {days}"
    return LearnerCard(
        row.file,
        row.name,
        where or "No piece is in hand",
        since,
        row.stuck,
        _facts(row),
        row.piece is not None,
    )


def _facts(row: LearnerRow) -> str:
    facts = [f"Report of {_day(row.made_on)}."]
    if row.piece is not None:
        facts.append(f"{100 * row.settled_share:.0f} % of the piece is good enough.")
    if row.last_day is not None:
        facts.append(f"Last practised on {_day(row.last_day)}.")
    if row.p50 is not None:
        aim = f", the aim is {_day(row.aim)}" if row.aim is not None else ""
        facts.append(f"Likely done by {_day(row.p50)}{aim}.")
    return " ".join(facts)


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"
