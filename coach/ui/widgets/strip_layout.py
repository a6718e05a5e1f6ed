"""How the bars of a line strip are wrapped into rows: reckoned once for a view and a width."""

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from coach.ui.presenters.drawn import StripView


@dataclass(frozen=True, slots=True)
class StripLayout:
    """Rows of bars.

    Parameters
    ----------
    many
        Bars in a row.
    starts
        Musical time at which each row begins.
    across
        Quarters from the left to the right end: those of the longest row, so that all keep one scale.
    closest
        Shortest way from one note of a line to the next, in quarters; a beat at most.
    """

    many: int
    starts: tuple[Fraction, ...]
    across: Fraction
    closest: Fraction

    def row_of(self, time: Fraction) -> int:
        """The row in which a time lies; the first or the last one for a time outside."""
        return max(0, bisect_right(self.starts, time) - 1)

    def share(self, time: Fraction, row: int) -> float:
        """How far across its row a time lies, 0 to 1."""
        return float(time - self.starts[row]) / float(self.across)


def lay_out(view: StripView, beats_that_fit: float) -> StripLayout:
    """Put as many bars into a row as there is room for; at least one."""
    bars, last = view.bars, len(view.bars) - 1
    beats = float((bars[-1] - bars[0]) / view.beat) / last
    many = max(1, min(last, int(beats_that_fit / beats)))
    firsts = range(0, last, many)
    closest = view.beat
    for kind in view.kinds:
        onsets = sorted(note.onset for note in view.notes if note.kind is kind)
        closest = min([closest, *(after - before for before, after in pairwise(onsets))])
    return StripLayout(
        many,
        tuple(bars[first] for first in firsts),
        max(bars[min(first + many, last)] - bars[first] for first in firsts),
        closest,
    )
