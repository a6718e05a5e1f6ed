"""What the play screen shows: the sheet, the ways to play, and what was heard."""

from dataclasses import dataclass
from enum import Enum

import numpy as np

from coach.sessions.piece.play_desk import Part
from coach.sheet.engrave import EngravedSheet
from coach.sheet.raster import page_pixels
from coach.ui.presenters.played import PlayedBar

PAGE_WIDTH = 1400
"""Pixels: sharp on a large tablet, and 8 MB a page."""
TEMPI = (40, 50, 60, 70, 80, 90)
PART_WORDS = {
    Part.THUMB: "Thumb alone",
    Part.MELODY: "Tune alone",
    Part.PINCHES: "Pinches alone",
    Part.BOTH: "Both lines",
}


class Way(Enum):
    """How a section is played."""

    ALONG = "along"
    LISTENED = "listened"


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
    tempo: int = 60
    playing: bool = False
    recording: bool = False
    whole: bool = False
    said: str = ""
    way: Way = Way.ALONG
    bars: tuple[PlayedBar, ...] = ()
    heard: str = ""


def page_of(sheet: EngravedSheet, number: int) -> SheetPage:
    """A page of the engraved sheet as pixels."""
    grey = page_pixels(sheet, number, PAGE_WIDTH)
    rgba = np.repeat(grey[:, :, np.newaxis], 4, axis=2)
    rgba[:, :, 3] = 255
    return SheetPage(grey.shape[1], grey.shape[0], rgba.tobytes())
