"""The day's ear set: what is asked today, in which order, within the minutes."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from coach.practice.schedule import starting_level
from coach.practice.schedule_state import ScheduleState, SkillCard
from coach.practice.skills import Skill

MOST_ACTIVE: Final = 100
"""Skills in learning at one time (measured by simulation: more flood the day's set)."""
KEPT_FREE: Final = 5
"""Places that new skills leave free for known ones that are missed and so come back into learning."""
ACTIVE_DAYS: Final = 45.0
"""A skill whose next answer is planned so many days after its last is known, no longer in learning."""
NEW_A_SET: Final = 3
NEW_ON_FIRST_DAY: Final = 5
DUE_SHARE_FOR_NEW: Final = 0.6
"""New skills wait while what is due would take more than this share of the minutes."""
LATE: Final = timedelta(days=2)
"""What has been due for so long comes before everything else, the longest due first."""
TODAY: Final = timedelta(hours=8)
"""What falls due within these hours counts as due now: people do not practise at the same hour each day."""


class Why(StrEnum):
    """Why a skill is in the set."""

    DUE = "due"
    NEW = "new"
    AGAIN = "again"
    """Met today for the first time, asked once more."""
    EARLY = "early"
    """Not due, but there is time."""
    EASY = "easy"
    """The easy one at the end."""


@dataclass(frozen=True, slots=True)
class SetItem:
    """One drill of the set: the skill, the level to ask it on, and why."""

    skill: Skill
    level: int
    why: Why


@dataclass(frozen=True, slots=True)
class EarSet:
    """The day's set in order; ``seconds`` is what it takes on the whole."""

    items: tuple[SetItem, ...] = ()

    @property
    def seconds(self) -> float:
        """Estimated length."""
        return sum(item.skill.seconds for item in self.items)


def ear_set(
    state: ScheduleState,
    skills: Sequence[Skill],
    *,
    now: datetime,
    minutes: float,
    useful: Collection[str] = (),
) -> EarSet:
    """Choose the day's set.

    Late skills come first, then those useful for the piece, then the longest due; then a few new ones in the
    order of meeting (after the first day one of them for the piece), asked twice; then, if time is left,
    what would be due next. An easy one ends the set. What does not fit waits: missed days never make a longer
    set.

    Parameters
    ----------
    state
        The schedule.
    skills
        Those that can be answered now (voice, guitar, a piece in hand), in the order of meeting.
    now
        The present moment, with time zone.
    minutes
        The set never takes longer than this.
    useful
        Texts of skills that the piece in hand asks for (`coach.practice.ear_piece`).
    """
    picker = _Picker(state, minutes * 60.0)
    known = [skill for skill in skills if skill.text in state.cards]
    due = [skill for skill in known if state.cards[skill.text].due <= now + TODAY]
    due.sort(key=lambda skill: _rank(state.cards[skill.text], skill.text in useful, now))
    easy = _easy_one(state, known)
    if easy is not None:
        picker.reserve(easy)
    for skill in due:
        picker.add(skill, Why.DUE)
    fresh = _new_skills(state, skills, useful, sum(skill.seconds for skill in due) / max(1.0, minutes * 60.0))
    met = [skill for skill in fresh if picker.add(skill, Why.NEW)]
    for skill in met:
        picker.add(skill, Why.AGAIN)
    early = [skill for skill in known if skill not in due and skill != easy]
    early.sort(key=lambda skill: (skill.text not in useful, state.cards[skill.text].due))
    for skill in early:
        picker.add(skill, Why.EARLY)
    return picker.result(easy)


def active_count(state: ScheduleState) -> int:
    """How many skills are in learning."""
    return sum(1 for card in state.cards.values() if card.interval_days < ACTIVE_DAYS)


def _rank(card: SkillCard, useful: bool, now: datetime) -> tuple[bool, bool, datetime]:  # noqa: FBT001 - sort key
    late = card.due <= now - LATE
    return (not late, not useful and not late, card.due)


def _easy_one(state: ScheduleState, known: Sequence[Skill]) -> Skill | None:
    """The surest skill: right last time, and remembered longest."""
    sure = [
        skill for skill in known if state.cards[skill.text].misses == 0 and state.cards[skill.text].reviews
    ]
    return max(sure, key=lambda skill: state.cards[skill.text].stability or 0.0, default=None)


def _new_skills(
    state: ScheduleState, skills: Sequence[Skill], useful: Collection[str], load: float
) -> list[Skill]:
    room = MOST_ACTIVE - KEPT_FREE - active_count(state)
    if load > DUE_SHARE_FOR_NEW or room <= 0:
        return []
    count = NEW_A_SET if state.cards else NEW_ON_FIRST_DAY
    unmet = [skill for skill in skills if skill.text not in state.cards]
    unmet.sort(key=lambda skill: (not skill.first, skill.order))
    level_one = any(skill.first for skill in unmet)
    wanted = [skill for skill in unmet if skill.text in useful and skill.first == level_one]
    helpful = wanted[:1] if state.cards else []
    usual = [skill for skill in unmet if skill not in helpful]
    return [*helpful, *usual][: min(count, room)]


class _Picker:
    """Fills the minutes; what does not fit is left out."""

    def __init__(self, state: ScheduleState, seconds: float) -> None:
        self._state = state
        self._left_s = seconds
        self._items: list[SetItem] = []
        self._kept: Skill | None = None

    def reserve(self, skill: Skill) -> None:
        """Keep time for the easy one."""
        if skill.seconds <= self._left_s:
            self._left_s -= skill.seconds
            self._kept = skill

    def add(self, skill: Skill, why: Why) -> bool:
        if skill.seconds > self._left_s or (skill == self._kept and why is not Why.DUE):
            return False
        if skill == self._kept:
            return True
        self._left_s -= skill.seconds
        self._items.append(SetItem(skill, self._level(skill, 0), why))
        return True

    def result(self, easy: Skill | None) -> EarSet:
        items = _mixed(self._items)
        if easy is not None and self._kept is not None:
            items.append(SetItem(easy, self._level(easy, 1), Why.EASY))
        return EarSet(tuple(items))

    def _level(self, skill: Skill, easier: int) -> int:
        card = self._state.cards.get(skill.text)
        level = starting_level(self._state, skill.key) if card is None else card.staircase.level
        return max(1, min(level, skill.levels) - easier)


def _mixed(items: Sequence[SetItem]) -> list[SetItem]:
    """The same items in nearly the same order, never three of one kind running where that can be helped."""
    waiting, out = list(items), list[SetItem]()
    while waiting:
        tail = {item.skill.kind for item in out[-2:]} if len(out) >= 2 else set()
        pick = next((item for item in waiting if len(tail) != 1 or item.skill.kind not in tail), waiting[0])
        waiting.remove(pick)
        out.append(pick)
    return out
