"""A grade: whether an answer was right, how far, how quickly, and the word for it."""

from dataclasses import dataclass
from enum import StrEnum

from coach.drills.prompt import Measure


class Word(StrEnum):
    """What the player reads; the scheduler's own ratings are another thing."""

    MISSED = "missed"
    SHAKY = "shaky"
    SURE = "sure"
    INSTANT = "instant"


@dataclass(frozen=True, slots=True)
class Grade:
    """A graded answer.

    Parameters
    ----------
    right
        Whether all of it was right by the kind's rule.
    credit
        0 to 1: the share that was right; 1 exactly when ``right``.
    cents
        Signed deviation of the note furthest off, octaves folded away; ``None`` where no pitch counts.
    answer_s
        When the answer began, seconds from the start of listening; ``None`` where that is not known.
    word
        Missed, shaky, sure or instant.
    """

    right: bool
    credit: float
    cents: float | None
    answer_s: float | None
    word: Word


_CLEAN_SHARE = 0.6
"""A sung answer further off than this share of the tolerance is right, but shaky."""


def graded(
    credit: float,
    *,
    measure: Measure,
    cents: float | None = None,
    sung: bool = False,
    answer_s: float | None = None,
    clumsy: bool = False,
    again: int = 0,
) -> Grade:
    """Put a grade together from its parts.

    A right answer is *instant* when it begins within the level's instant time at the first hearing, *sure*
    within its sure time or where no time is known, else *shaky*. It is shaky, too, when sung far off within
    the tolerance, when ``clumsy`` (right only by the octave rule, note by note), or after the prompt was
    heard more than once again.

    Parameters
    ----------
    credit
        0 to 1; only 1 is right.
    measure
        The prompt's.
    cents, sung
        Deviation, and whether it counts.
    answer_s
        Beginning of the answer.
    clumsy
        Right, but not as it was meant.
    again
        How often the prompt was heard again.
    """
    right = credit >= 1.0
    if not right:
        return Grade(False, round(max(0.0, min(credit, 0.99)), 4), cents, answer_s, Word.MISSED)
    far = sung and cents is not None and abs(cents) > _CLEAN_SHARE * measure.cents
    if clumsy or far or again > 1 or (answer_s is not None and answer_s > measure.sure_s):
        word = Word.SHAKY
    elif answer_s is not None and answer_s <= measure.instant_s and again == 0:
        word = Word.INSTANT
    else:
        word = Word.SURE
    return Grade(True, 1.0, cents, answer_s, word)
