"""How large a piece may be: it widens by one notch with each finished piece, never before."""

from dataclasses import dataclass

FIRST_BARS = 8
"""What is proposed for the first piece (the product's own rule)."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a piece may hold.

    Parameters
    ----------
    proposed_bars
        What is offered first.
    most_bars
        No piece may have more.
    words
        What the last notch gave, in a sentence. Kinds of notes are advice: nothing forbids them before.
    """

    proposed_bars: int
    most_bars: int
    words: str


_NOTCHES = (
    Limits(FIRST_BARS, 16, "A first piece has 8 bars, 16 at most; one bass note a bar, and at each change."),
    Limits(16, 16, "The next piece may have 16 bars from the start."),
    Limits(16, 16, "The next piece may have bass notes on beats 1 and 3."),
    Limits(32, 32, "The next piece may have 32 bars."),
    Limits(32, 32, "The next piece may have a short passage in thirds or sixths in place of the bass."),
)


def limits_after(finished: int) -> Limits:
    """The limits for the next piece once so many are finished; ``ValueError`` below 0."""
    if finished < 0:
        raise ValueError("pieces are counted from 0")
    return _NOTCHES[min(finished, len(_NOTCHES) - 1)]
