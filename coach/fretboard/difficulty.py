"""How hard each bar is, in words, so that the hardest can be practised first."""

from collections.abc import Iterator
from dataclasses import dataclass

from coach.fretboard.fingering import Fingering, HandAt
from coach.notation.arrangement import Arrangement

EASY = "easy"
_EASY_POINTS = 1.5
"""Mean points an onset up to which a bar is easy: less than one move of the hand. From no source."""
_HARD_POINTS = 3.5
"""Mean points an onset from which a bar is hard: a move of the hand at most onsets. From no source."""
_WIDE_SHARE = 0.7
"""A reach is named from this share of what the hand can span."""


@dataclass(frozen=True, slots=True)
class BarDifficulty:
    """One bar.

    Parameters
    ----------
    bar
        Its number; 0 is the upbeat.
    points
        Of all its onsets.
    word
        ``easy``, ``some work`` or ``hard``.
    reasons
        What makes it so, in a few words each; may be empty.
    """

    bar: int
    points: float
    word: str
    reasons: tuple[str, ...]


def difficulty(fingering: Fingering, arrangement: Arrangement) -> tuple[BarDifficulty, ...]:
    """Every bar in which a note is struck, in order."""
    bars: dict[int, list[HandAt]] = {}
    for hand in fingering.hand:
        bars.setdefault(arrangement.bar_of(hand.onset), []).append(hand)
    highest = {bar: _highest_fret(fingering, arrangement, bar) for bar in bars}
    return tuple(_bar(bar, hands, highest[bar], fingering) for bar, hands in sorted(bars.items()))


def hardest_bar(fingering: Fingering, arrangement: Arrangement) -> BarDifficulty | None:
    """The bar with the most points, the first of equals; ``None`` without any note."""
    return max(difficulty(fingering, arrangement), key=lambda bar: bar.points, default=None)


def _highest_fret(fingering: Fingering, arrangement: Arrangement, bar: int) -> int:
    return max(
        (note.place.fret for note in fingering.notes if arrangement.bar_of(note.note.onset) == bar),
        default=0,
    )


def _bar(bar: int, hands: list[HandAt], highest: int, fingering: Fingering) -> BarDifficulty:
    points = sum(hand.cost for hand in hands)
    mean = points / len(hands)
    word = EASY if mean <= _EASY_POINTS else "some work" if mean < _HARD_POINTS else "hard"
    return BarDifficulty(bar, round(points, 2), word, tuple(_reasons(hands, highest, fingering)))


def _reasons(hands: list[HandAt], highest: int, fingering: Fingering) -> Iterator[str]:
    reach = fingering.neck.reach
    widest = max(hand.spread_mm for hand in hands)
    if widest >= _WIDE_SHARE * reach.spans.index_little:
        yield f"a reach of {widest:.0f} mm"
    shifts = sum(hand.shifted for hand in hands)
    if shifts:
        yield "the hand moves once" if shifts == 1 else f"the hand moves {shifts} times"
    if any(hand.shifted and hand.held for hand in hands):
        yield "it moves while a finger holds its note"
    if any(hand.barre for hand in hands):
        yield "the first finger lies across two strings"
    if highest > reach.asking_fret:
        yield f"up to fret {highest}"
