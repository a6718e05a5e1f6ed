"""Cutting a piece into sections at its phrases.

A section has 2 to 8 bars; phrases are mostly four bars long (common practice, no source), so four is what is
proposed where nothing else speaks. Weights are ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from coach.music.meter import Meter
from coach.notation.section import Section, section_name

LEAST_BARS, MOST_BARS = 2, 8
_LENGTH_COSTS = {2: 0.7, 3: 1.0, 4: 0.0, 5: 1.1, 6: 0.8, 7: 1.3, 8: 0.6}
"""What a section of so many bars costs, against the strength of the phrase ends (0 to 1) at its edges."""
_END_WEIGHT = 1.5
_TRIM_REACH = 2
"""The end of a trimmed piece may move by so many bars to meet the end of a phrase."""


@dataclass(frozen=True, slots=True)
class BarRange:
    """A section in bars: name, first full bar (from 1), number of bars."""

    name: str
    first: int
    bars: int

    @property
    def last(self) -> int:
        """Its last bar."""
        return self.first + self.bars - 1


def trimmed(bar_count: int, ends: Sequence[float], *, proposed: int, most: int) -> int:
    """How many bars of a recording to take: the proposed number, or a little more or less to end a phrase.

    Parameters
    ----------
    bar_count
        Full bars from where the player starts.
    ends
        ``ends[n]`` is how surely a phrase ends after bar ``n``, 0 to 1; missing entries are 0.
    proposed, most
        The limits in force: 8 and 16 for a first piece.

    Raises
    ------
    ValueError
        For limits or a length under two bars.
    """
    if not LEAST_BARS <= proposed <= most or bar_count < LEAST_BARS:
        raise ValueError(f"cannot trim {bar_count} bars to {proposed}, {most} at most")
    if bar_count <= proposed:
        return bar_count
    lowest, highest = max(LEAST_BARS, proposed - _TRIM_REACH), min(most, bar_count, proposed + _TRIM_REACH)
    return max(
        range(lowest, highest + 1),
        key=lambda bars: (_end(ends, bars) - 0.3 * abs(bars - proposed), bars == proposed),
    )


def propose(bar_count: int, ends: Sequence[float] = ()) -> tuple[BarRange, ...]:
    """Cut bars into sections of 2 to 8 bars whose edges meet the ends of phrases.

    Parameters
    ----------
    bar_count
        At least 1; a single bar is one short section.
    ends
        As for `trimmed`.

    Returns
    -------
    tuple of BarRange
        A, B, …, without gaps, all bars of the piece.
    """
    if bar_count < 1:
        raise ValueError(f"a piece has bars, not {bar_count}")
    if bar_count < 2 * LEAST_BARS:
        return (BarRange(section_name(0), 1, bar_count),)
    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}
    for upto in range(LEAST_BARS, bar_count + 1):
        options = [
            (best[upto - bars][0] + cost - _END_WEIGHT * _end(ends, upto), (*best[upto - bars][1], bars))
            for bars, cost in _LENGTH_COSTS.items()
            if upto - bars in best
        ]
        if options:
            best[upto] = min(options)
    lengths = best[bar_count][1]
    starts = [1, *(1 + done for done in accumulate(lengths))]
    return tuple(
        BarRange(section_name(index), first, bars)
        for index, (first, bars) in enumerate(zip(starts, lengths, strict=False))
    )


def marked(ranges: Sequence[BarRange], first: int, last: int) -> tuple[BarRange, ...]:
    """The sections after the player has marked one: from bar ``first`` to bar ``last``, both included.

    What lies before and after keeps its edges; a section marked beyond the end makes the piece longer.

    Raises
    ------
    ValueError
        If the bars are not in order, or there are no sections yet.
    """
    if not 1 <= first <= last or not ranges:
        raise ValueError(f"a section goes from a bar to a later one, not from {first} to {last}")
    total = ranges[-1].last
    edges = {part.first for part in ranges} | {total + 1, first, last + 1}
    end = max(total, last) + 1
    kept = sorted(edge for edge in edges if edge <= end and not first < edge <= last)
    return tuple(
        BarRange(section_name(index), start, after - start)
        for index, (start, after) in enumerate(pairwise(kept))
    )


def placed(ranges: Sequence[BarRange], meter: Meter) -> tuple[Section, ...]:
    """Sections on the piece's axis of quarters, where 0 is the start of its upbeat.

    Later sections begin with an upbeat as long as the piece's own, as their phrases mostly do.
    """
    return tuple(Section(part.name, (part.first - 1) * meter.bar) for part in ranges)


def check_lengths(ranges: Sequence[BarRange], *, most: int) -> str | None:
    """What is wrong with sections that the player changed, as a sentence; ``None`` if nothing is."""
    if not ranges:
        return "Mark at least one section."
    for part in ranges:
        if not LEAST_BARS <= part.bars <= MOST_BARS:
            return f"Section {part.name} has {part.bars} bars: choose {LEAST_BARS} to {MOST_BARS}."
    if any(after.first != before.last + 1 for before, after in pairwise(ranges)):
        return "Sections follow each other without a gap: move their edges together."
    total = sum(part.bars for part in ranges)
    if total > most:
        return f"These are {total} bars: take {most} at most for this piece."
    return None


def _end(ends: Sequence[float], bar: int) -> float:
    return ends[bar] if bar < len(ends) else 0.0
