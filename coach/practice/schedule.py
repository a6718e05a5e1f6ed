"""The spaced-repetition schedule: a fold of graded answers into cards.

The rule from grade to rating (measured by simulation: a staircase at 79.4 % would tell the scheduler *again*
one time in five and flood every day's set):

====================================================  =======
grade                                                 rating
====================================================  =======
right, *instant*                                      easy
right, *sure*                                         good
right, *shaky*                                        hard
wrong at the staircase's own level or one below       hard
wrong two levels below it, or twice running           again
====================================================  =======

Correctness, cents and answer time are all in the word of the grade (`coach.drills.grade`).
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Final

from fsrs import Card, Rating, Scheduler, State

from coach.drills.data import SkillKey
from coach.drills.grade import Word
from coach.practice.events import DrillAnswered, DrillPassed
from coach.practice.schedule_state import ScheduleState, SkillCard
from coach.practice.staircase import Staircase

LONGEST_DAYS: Final = 90
"""No skill rests longer: an ear unused for a season is not an ear. Common practice, no source."""
_PASSED_FOR: Final = timedelta(hours=20)
"""What was let pass comes again tomorrow, not today."""
_MOST_LEVELS: Final = 12
"""No drill has more. On a drill with fewer the staircase stops by itself one above its hardest level, since
prompts are then asked on a level below the staircase's own."""

# Whole days only, no chance: the package's own fuzzing uses global random numbers, and its learning steps of
# minutes suit cards on a screen, not a daily set.
_SCHEDULER: Final = Scheduler(
    learning_steps=(), relearning_steps=(), maximum_interval=LONGEST_DAYS, enable_fuzzing=False
)


def apply(
    state: ScheduleState,
    event: DrillAnswered | DrillPassed,
    at: datetime,
) -> ScheduleState:
    """The schedule after a drill was answered or let pass.

    Parameters
    ----------
    state
        Before.
    event
        From the log.
    at
        Its moment, with time zone.
    """
    moment = at.astimezone(UTC)
    old = state.cards.get(event.skill)
    if isinstance(event, DrillPassed):
        return _with(state, event.skill, _passed(old, event.level, moment))
    before = old or SkillCard(due=moment, staircase=_started(state, event))
    rated = rating_of(before, right=event.right, word=event.word, level=event.level)
    card = replace(
        _reviewed(before, rated, moment),
        staircase=_moved(before.staircase, event),
        reviews=before.reviews + 1,
        misses=0 if event.right else before.misses + 1,
        word=event.word,
    )
    return _with(state, event.skill, card)


def rating_of(card: SkillCard, *, right: bool, word: str, level: int) -> Rating:
    """The scheduler's rating of an answer, by the rule above; ``card`` is as it was before the answer."""
    if right:
        return {Word.INSTANT: Rating.Easy, Word.SURE: Rating.Good}.get(Word(word), Rating.Hard)
    below = card.staircase.level - level
    return Rating.Again if below >= 2 or card.misses > 0 else Rating.Hard


def starting_level(state: ScheduleState, key: SkillKey) -> int:
    """The level for a skill not met so far: one below the middle of its drill's other skills, at least 1."""
    prefix, ending = f"{key.drill}:", f":{key.by}"
    levels = sorted(
        card.staircase.level
        for text, card in state.cards.items()
        if text.startswith(prefix) and text.endswith(ending)
    )
    return max(1, levels[(len(levels) - 1) // 2] - 1) if levels else 1


def _started(state: ScheduleState, event: DrillAnswered) -> Staircase:
    try:
        key = SkillKey.parse(event.skill)
    except ValueError:
        return Staircase(max(1, event.level))
    return Staircase(starting_level(state, key))


def _moved(before: Staircase, event: DrillAnswered) -> Staircase:
    """Right on an easier level, or wrong on a harder one, says nothing new: then it stays."""
    if event.right and event.level < before.level:
        return before
    if not event.right and event.level > before.level:
        return before
    return before.after(right=event.right, most=_MOST_LEVELS)


def _reviewed(card: SkillCard, rating: Rating, moment: datetime) -> SkillCard:
    after, _ = _SCHEDULER.review_card(_card(card), rating, moment)
    return replace(
        card, stability=after.stability, difficulty=after.difficulty, due=after.due, last_at=moment
    )


def _card(card: SkillCard) -> Card:
    """The package's own card; identity and due date are given, or it would sleep and read the clock."""
    return Card(
        card_id=1,
        state=State.Learning if card.stability is None else State.Review,
        stability=card.stability,
        difficulty=card.difficulty,
        due=card.due,
        last_review=card.last_at,
    )


def _passed(old: SkillCard | None, level: int, moment: datetime) -> SkillCard:
    later = moment + _PASSED_FOR
    if old is None:
        return SkillCard(due=later, staircase=Staircase(max(1, level)))
    return replace(old, due=max(old.due, later))


def _with(state: ScheduleState, skill: str, card: SkillCard) -> ScheduleState:
    return ScheduleState({**state.cards, skill: card})
