"""What the play screen shows: the sheet, the ways to play, and what was heard."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from coach.sessions.piece.play_desk import Part
from coach.sheet.engrave import EngravedSheet
from coach.sheet.raster import page_pixels
from coach.ui.presenters.played import PlayedBar

PAGE_WIDTH = 1400
"""Pixels: sharp on a large tablet, and 8 MB a page."""
MOST_EMPTY_ROWS, WHITE = 48, 250
TEMPI = (40, 50, 60, 70, 80, 90, 100, 120, 140, 160)
FIRST_TEMPO, NEAR_BPM = 60, 4
"""Slow enough to begin with (quarters a minute); and so near to the piece's own tempo there is no other."""
PART_WORDS = {
    Part.THUMB: "Thumb alone",
    Part.MELODY: "Tune alone",
    Part.PINCHES: "Pinches: both at once",
    Part.BOTH: "Both lines",
}


class Way(Enum):
    """How a section is played."""

    ALONG = "along"
    LISTENED = "listened"


WHOLE_WORDS = {Way.ALONG: "Practise it with me", Way.LISTENED: "Record it"}
WAY_WORDS = {Way.ALONG: "Play along with me", Way.LISTENED: "Count me in, then listen"}


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One page of the sheet: RGBA bytes, row 0 at the top."""

    width: int
    height: int
    rgba: bytes


@dataclass(frozen=True, slots=True)
class PlayView:
    """A section, or the whole piece, to be played.

    Parameters
    ----------
    whole
        Whether it is the whole piece: then a take is recorded.
    recording
        Whether the player is listened to now.
    way
        How the section is played.
    bars
        What was heard, bar by bar; empty before a take was listened to.
    heard
        The take in a sentence.
    """

    title: str
    sentence: str
    pages: tuple[SheetPage, ...]
    action: str
    second: str = ""
    part: Part = Part.BOTH
    tempo: int = FIRST_TEMPO
    tempi: tuple[int, ...] = TEMPI
    playing: bool = False
    recording: bool = False
    whole: bool = False
    said: str = ""
    way: Way = Way.ALONG
    bars: tuple[PlayedBar, ...] = ()
    heard: str = ""

    @property
    def sounds(self) -> bool:
        """Whether it is being played now: nothing but the sheet is of use then."""
        return self.playing or self.recording


def tempi_of(own_bpm: float) -> tuple[int, ...]:
    """Tempi to practise at, up to the piece's own, in beats a minute."""
    own = round(own_bpm)
    return (*(tempo for tempo in TEMPI if tempo < own - NEAR_BPM), own)


def page_of(sheet: EngravedSheet, number: int, *, close: bool = False) -> SheetPage:
    """A page of the engraved sheet as pixels; ``close``: without the most of its empty paper."""
    grey = page_pixels(sheet, number, PAGE_WIDTH)
    if close:
        grey = _close(grey)
    rgba = np.repeat(grey[:, :, np.newaxis], 4, axis=2)
    rgba[:, :, 3] = 255
    return SheetPage(grey.shape[1], grey.shape[0], rgba.tobytes())


def _close(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A page (rows, columns) with its high empty stretches made low, so that the music stays in sight."""
    empty = np.all(grey > WHITE, axis=1)
    run, keep = 0, np.ones(len(grey), bool)
    for row, blank in enumerate(empty):
        run = run + 1 if blank else 0
        keep[row] = run <= MOST_EMPTY_ROWS
    return grey[keep]
