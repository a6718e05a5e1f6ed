"""The fretboard: tunings, places, the hand, and the exact best fingering of two lines."""

from coach.fretboard.fingering import Blocked, Conflict, FingeredNote, Fingering, HandAt
from coach.fretboard.reach import REACHES, SEASONED, STARTER, Reach, own_reach
from coach.fretboard.score import Freedom, NoteId
from coach.fretboard.solve import solve
from coach.fretboard.stops import Neck
from coach.fretboard.tuning import SCALE_MM, STANDARD, Tuning
from coach.fretboard.wishes import NoteWish, Wishes, chosen_places

__all__ = [
    "REACHES",
    "SCALE_MM",
    "SEASONED",
    "STANDARD",
    "STARTER",
    "Blocked",
    "Conflict",
    "FingeredNote",
    "Fingering",
    "Freedom",
    "HandAt",
    "Neck",
    "NoteId",
    "NoteWish",
    "Reach",
    "Tuning",
    "Wishes",
    "chosen_places",
    "own_reach",
    "solve",
]
