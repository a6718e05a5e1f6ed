"""What the screens of the beat show, and their words."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from itertools import pairwise

import numpy as np

from coach.music import Meter
from coach.sessions.ports import Samples
from coach.ui.presenters.beat_work import BeatWork
from coach.ui.presenters.drawn import Tile

METERS = ("4/4", "3/4", "2/4", "6/8")
BARS_SHOWN = 8
"""As many as a first piece has."""
TILE_POINTS, CLOSE_POINTS = 24, 160
READING_WORDS = {
    Fraction(1): "",
    Fraction(2): "twice as fast",
    Fraction(1, 2): "half as fast",
    Fraction(3): "three times as fast",
    Fraction(2, 3): "two thirds as fast",
}


class BeatMode(Enum):
    """What is being done about the beat."""

    HEAR = "hear"
    """The heard beat clicks along: is it right?"""
    TAP = "tap"
    MOVE = "move"


@dataclass(frozen=True, slots=True)
class BeatHead:
    """A beat in the close-up: where it lies (0 to 1), how it is counted (1 is ONE), which of all it is."""

    share: float
    number: int
    index: int


@dataclass(frozen=True, slots=True)
class BeatBar:
    """One bar seen from near, half a beat around it included.

    Parameters
    ----------
    from_s, to_s
        What is shown, in seconds of the recording.
    loudness
        Its shape, each 0 to 1.
    heads
        The beats.
    chosen
        Index, among all beats, of the one in question.
    """

    from_s: float
    to_s: float
    loudness: tuple[float, ...]
    heads: tuple[BeatHead, ...]
    chosen: int


@dataclass(frozen=True, slots=True)
class BeatView:
    """The beat of a piece while it is being put right.

    Parameters
    ----------
    tempo_bpm
        Beats a minute.
    readings, reading
        Ways to count with their words, and the one of now.
    tiles, tiles_s
        Some bars, and the seconds at which they begin and end.
    bar_index
        Which of them is looked at, ``None`` where none is.
    close
        That bar from near.
    words
        How the chosen beat is called.
    goes_on
        Whether there is more after the bars shown: the piece may begin later.
    known
        Whether there are beats: heard in the recording, or made of taps.
    heard
        Whether there were beats before any tap.
    """

    mode: BeatMode
    known: bool = False
    heard: bool = False
    meter: str = "4/4"
    upbeat: bool = False
    readings: tuple[tuple[str, str], ...] = ()
    reading: str = "1"
    tiles: tuple[Tile, ...] = ()
    tiles_s: tuple[float, ...] = ()
    bar_index: int | None = None
    close: BeatBar | None = None
    words: str = ""
    taps: int = 0
    playing: bool = False
    slow: bool = False
    goes_on: bool = False
    can_undo: bool = False
    can_redo: bool = False


@dataclass(frozen=True, slots=True)
class BeatPageView:
    """The screen on which beats are put right after they were chosen."""

    sentence: str
    beat: BeatView
    action: str
    second: str = ""
    said: str = ""
    words: str = ""


def reading_words(times: Fraction, tempo_bpm: float) -> str:
    """A way to count, in words."""
    words = READING_WORDS[times]
    return f"{words}: {tempo_bpm:.0f}" if words else f"{tempo_bpm:.0f} a minute"


def heard_sentence(work: BeatWork, meter: Meter, *, tapped: bool = False) -> str:
    """What was found or tapped, and what to listen for."""
    found = "You tapped" if tapped else "I hear"
    return (
        f"{found} {work.marks.tempo_bpm:.0f} beats a minute, {meter.beats} to a bar. "
        "Do the clicks fall on them, and the high click where you would count ONE?"
    )


def chosen_words(work: BeatWork, meter: Meter) -> str:
    """How the chosen beat is called."""
    bar = work.bar_of(work.chosen, meter)
    count = (work.chosen - work.marks.one) % meter.beats + 1
    where = f"Bar {bar}" if bar > 0 else "Before bar 1"
    return f"{where}, beat {count} of {meter.beats}, at {work.marks.seconds[work.chosen]:.2f} s"


def shape_of(mono: Samples, rate_hz: int, from_s: float, to_s: float, points: int) -> tuple[float, ...]:
    """Loudness over a stretch, ``points`` root mean squares, linear; zeros outside of the recording."""
    edges = np.linspace(from_s * rate_hz, to_s * rate_hz, points + 1).astype(int)
    edges = np.clip(edges, 0, len(mono))
    parts = (mono[a:b] for a, b in pairwise(edges))
    return tuple(float(np.sqrt(np.mean(np.square(part)))) if len(part) else 0.0 for part in parts)


def levelled(shapes: Sequence[Sequence[float]]) -> list[tuple[float, ...]]:
    """Shapes against the loudest of all."""
    loudest = max((max(shape, default=0.0) for shape in shapes), default=0.0) or 1.0
    return [tuple(value / loudest for value in shape) for shape in shapes]


def tiles_from(
    work: BeatWork, meter: Meter, first_bar: int, mono: Samples, rate_hz: int
) -> tuple[tuple[Tile, ...], tuple[float, ...]]:
    """Bars from ``first_bar`` on that begin within the beats, and their edges in seconds.

    Bars before the first full one have negative numbers.
    """
    many = len(work.marks.seconds)
    bars = [
        bar
        for bar in range(first_bar, first_bar + BARS_SHOWN)
        if -meter.beats < work.first_of(bar, meter) < many
    ]
    spans = [work.bar_span(bar, meter) for bar in bars]
    shapes = levelled([shape_of(mono, rate_hz, a, b, TILE_POINTS) for a, b in spans])
    tiles = tuple(
        Tile(bar if bar > 0 else bar - 1, shape, meter.beats) for bar, shape in zip(bars, shapes, strict=True)
    )
    return tiles, (*(a for a, _ in spans), *(b for _, b in spans[-1:]))


def close_up(work: BeatWork, meter: Meter, mono: Samples, rate_hz: int) -> BeatBar:
    """The chosen beat's bar from near."""
    times = work.marks.seconds
    first = work.first_of(work.bar_of(work.chosen, meter), meter)
    inside = [index for index in range(first, first + meter.beats + 1) if 0 <= index < len(times)]
    gap_s = 30.0 / work.marks.tempo_bpm
    from_s, to_s = max(0.0, times[inside[0]] - gap_s), times[inside[-1]] + gap_s
    heads = tuple(
        BeatHead((times[index] - from_s) / (to_s - from_s), (index - work.marks.one) % meter.beats + 1, index)
        for index in inside
    )
    (shape,) = levelled([shape_of(mono, rate_hz, from_s, to_s, CLOSE_POINTS)])
    return BeatBar(from_s, to_s, shape, heads, work.chosen)
