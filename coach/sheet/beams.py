"""Which notes of a voice are joined by beams, level by level."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TypeAlias

from coach.music.meter import Meter
from coach.sheet.bars import Symbol
from coach.sheet.values import FLAGS, UNITS, units

BeamWords: TypeAlias = tuple[str, ...]
"""MusicXML beam values (``begin``, ``continue``, ``end``, hooks) from level 1 on."""


def beams(symbols: Sequence[Symbol], meter: Meter) -> tuple[BeamWords, ...]:
    """The beams of every symbol of a voice in a bar; empty for rests, long values and single notes.

    Notes are joined within a beat (within the bar in 3/8 and the like), so that the beats can be seen.
    Common practice, no source.
    """
    found: list[BeamWords] = [()] * len(symbols)
    for run in _runs(symbols, meter):
        for place, words in zip(run, _words([FLAGS[symbols[i].value.type] for i in run]), strict=True):
            found[place] = words
    return tuple(found)


def _group_length(meter: Meter) -> int:
    beat, bar = units(meter.beat), units(meter.bar)
    if beat >= UNITS:
        return beat
    return bar if bar <= 3 * UNITS // 2 else UNITS


def _runs(symbols: Sequence[Symbol], meter: Meter) -> Iterable[list[int]]:
    """Indices of neighbouring flagged notes in one group."""
    length = _group_length(meter)

    def group(index: int) -> tuple[bool, int]:
        symbol = symbols[index]
        return (symbol.note is not None and symbol.value.type in FLAGS, symbol.start // length)

    for (flagged, _), indices in groupby(range(len(symbols)), key=group):
        run = list(indices)
        if flagged and len(run) > 1:
            yield run


def _words(levels: Sequence[int]) -> list[BeamWords]:
    words: list[list[str]] = [[] for _ in levels]
    for level in range(1, max(levels) + 1):
        has = [False, *(count >= level for count in levels), False]
        for place, (before, after) in enumerate(zip(has, has[2:], strict=False)):
            if has[place + 1]:
                words[place].append(_word(before, after, first=place == 0))
    return [tuple(word) for word in words]


def _word(before: bool, after: bool, *, first: bool) -> str:  # noqa: FBT001 - neighbours on either side
    if before:
        return "continue" if after else "end"
    if after:
        return "begin"
    return "forward hook" if first else "backward hook"
