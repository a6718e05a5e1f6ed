"""Pitches, intervals, keys, meters, time: the values that everything else is made of."""

from coach.music.grid import BeatGrid
from coach.music.interval import Interval
from coach.music.key import Key, Mode
from coach.music.meter import Meter
from coach.music.performed import PerformedNote
from coach.music.pitch import Pitch
from coach.music.span import Span

__all__ = ["BeatGrid", "Interval", "Key", "Meter", "Mode", "PerformedNote", "Pitch", "Span"]
