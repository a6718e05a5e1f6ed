"""The right hand: thumb on strings 6, 5 and 4, index, middle and ring above, taking turns.

Common practice, no source. The choice is the cheapest one over the whole piece, by the same kind of search
as the left hand's, with three states.
"""

from collections.abc import Sequence
from itertools import permutations
from typing import TypeAlias

from coach.fretboard.stances import THUMB_STRING

THUMB = "p"
UPPER = ("i", "m", "a")
"""Index, middle, ring of the right hand, from the thicker strings to the thinner."""
_USUAL = {3: "i", 2: "m", 1: "a"}
_OFF_USUAL = 0.2
"""Each finger away from the usual one of a string."""
_RING = 0.25
"""The ring finger is slower to alternate."""
_AGAIN = 1.0
"""The same finger twice running."""
_CROSSED = 0.5
"""A finger nearer the thumb goes to a thinner string than the finger before it did."""


Before = tuple[str, int] | None
"""The upper finger that plucked last, and its string."""
_Chain: TypeAlias = "tuple[_Chain, tuple[str, ...]] | None"


def right_hand(strikes: Sequence[tuple[int, ...]]) -> tuple[tuple[str, ...], ...]:
    """Fingers for all strings struck.

    Parameters
    ----------
    strikes
        For each moment the strings struck together, one or two (or none), each 1 to 6.

    Returns the finger (p, i, m, a) of each string, in the same order.
    """
    best: dict[Before, tuple[float, _Chain]] = {None: (0.0, None)}
    for strings in strikes:
        grown: dict[Before, tuple[float, _Chain]] = {}
        for before, (cost, chain) in best.items():
            for option in _options(strings):
                total = cost + _cost(strings, option, before)
                now = _upper(strings, option) or before
                if now not in grown or total < grown[now][0]:
                    grown[now] = (total, (chain, option))
        best = grown
    return _unrolled(min(best.values(), key=lambda item: item[0])[1])


def _unrolled(chain: "_Chain") -> tuple[tuple[str, ...], ...]:
    found = []
    while chain is not None:
        chain, option = chain
        found.append(option)
    return tuple(reversed(found))


def _options(strings: tuple[int, ...]) -> list[tuple[str, ...]]:
    """All ways to pluck the strings of one moment."""
    match strings:
        case ():
            return [()]
        case (string,):
            return [(THUMB,)] if string >= THUMB_STRING else [(finger,) for finger in UPPER]
        case _:
            return _pinches(strings)


def _pinches(strings: tuple[int, ...]) -> list[tuple[str, ...]]:
    thick = max(strings)
    if thick >= THUMB_STRING:
        uppers = ("i",) if min(strings) >= THUMB_STRING else UPPER
        return [tuple(THUMB if string == thick else finger for string in strings) for finger in uppers]
    pairs = [pair for pair in permutations(UPPER, 2) if UPPER.index(pair[0]) < UPPER.index(pair[1])]
    return [tuple(low if string == thick else high for string in strings) for low, high in pairs]


def _upper(strings: tuple[int, ...], option: tuple[str, ...]) -> Before:
    """The finger and string that the next one has to alternate with."""
    found = [(finger, string) for finger, string in zip(option, strings, strict=True) if finger != THUMB]
    return min(found, key=lambda item: item[1]) if found else None


def _cost(strings: tuple[int, ...], option: tuple[str, ...], before: Before) -> float:
    total = 0.0
    for finger, string in zip(option, strings, strict=True):
        if finger == THUMB:
            continue
        rank = UPPER.index(finger)
        total += _OFF_USUAL * abs(rank - UPPER.index(_USUAL.get(string, "i")))
        total += _RING * (finger == "a")
        if before is not None:
            old = UPPER.index(before[0])
            total += _AGAIN * (rank == old)
            total += _CROSSED * ((rank < old and string < before[1]) or (rank > old and string > before[1]))
    return total
