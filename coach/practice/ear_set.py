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
NEW_OF_A_KIND: Final = 2
"""So many new skills of one kind in a set: a set of one question is tiring. Common practice, no source."""
NEW_FOR_MINUTES: Final = 6
"""So many new ones in sets up to this length, in longer ones as many more as they are longer."""
ASKED_TIMES: Final = 3
"""A skill met today is asked so often at most, as long as there is time."""
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
    """Met today for the first time, asked again."""
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
    what would be due next; if still time is left, the new ones a third time. An easy one ends the set. What
    does not fit waits: missed days never make a longer set.

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
    load = sum(skill.seconds for skill in due) / max(1.0, minutes * 60.0)
    fresh = _new_skills(state, skills, useful, load, max(1.0, minutes / NEW_FOR_MINUTES))
    met = [skill for skill in fresh if picker.add(skill, Why.NEW)]
    for skill in met:
        picker.add(skill, Why.AGAIN)
    early = [skill for skill in known if skill not in due and skill != easy]
    early.sort(key=lambda skill: (skill.text not in useful, state.cards[skill.text].due))
    for skill in early:
        picker.add(skill, Why.EARLY)
    for skill in met * (ASKED_TIMES - 2):
        picker.add(skill, Why.AGAIN)
    return picker.result(easy)


def asked_level(state: ScheduleState, skill: Skill, why: Why) -> int:
    """The level on which a skill is asked: its staircase's own, one easier where it ends the set."""
    card = state.cards.get(skill.text)
    level = starting_level(state, skill.key) if card is None else card.staircase.level
    return max(1, min(level, skill.levels) - (why is Why.EASY))


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
    state: ScheduleState, skills: Sequence[Skill], useful: Collection[str], load: float, longer: float
) -> list[Skill]:
    room = MOST_ACTIVE - KEPT_FREE - active_count(state)
    if load > DUE_SHARE_FOR_NEW or room <= 0:
        return []
    count = int(longer * (NEW_A_SET if state.cards else NEW_ON_FIRST_DAY))
    unmet = [skill for skill in skills if skill.text not in state.cards]
    unmet.sort(key=lambda skill: (not skill.first, skill.order))
    level_one = any(skill.first for skill in unmet)
    wanted = [skill for skill in unmet if skill.text in useful and skill.first == level_one]
    helpful = wanted[:1] if state.cards else []
    usual = [skill for skill in unmet if skill not in helpful]
    chosen: list[Skill] = []
    for skill in (*helpful, *usual):
        if sum(each.kind is skill.kind for each in chosen) < NEW_OF_A_KIND:
            chosen.append(skill)
    return chosen[: min(count, room)]


_ROUNDING_S = 1e-6
"""Sums of seconds are never quite exact; the set stays below its minutes all the same."""


class _Picker:
    """Fills the minutes; what does not fit is left out."""

    def __init__(self, state: ScheduleState, seconds: float) -> None:
        self._state = state
        self._left_s = seconds - _ROUNDING_S
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
        self._items.append(SetItem(skill, asked_level(self._state, skill, why), why))
        return True

    def result(self, easy: Skill | None) -> EarSet:
        items = _mixed(self._items)
        if easy is not None and self._kept is not None:
            items.append(SetItem(easy, asked_level(self._state, easy, Why.EASY), Why.EASY))
        return EarSet(tuple(items))


def _mixed(items: Sequence[SetItem]) -> list[SetItem]:
    """The same items in nearly the same order, never three of one kind running where that can be helped."""
    waiting, out = list(items), list[SetItem]()
    while waiting:
        tail = {item.skill.kind for item in out[-2:]} if len(out) >= 2 else set()
        pick = next((item for item in waiting if len(tail) != 1 or item.skill.kind not in tail), waiting[0])
        waiting.remove(pick)
        out.append(pick)
    return out
