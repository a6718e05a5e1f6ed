"""The fretboard: tunings, places, the hand, and the exact best fingering of two lines."""

from coach.fretboard.difficulty import BarDifficulty, difficulty, hardest_bar
from coach.fretboard.explore import Explorer, PlaceOption
from coach.fretboard.fingering import Blocked, Conflict, FingeredNote, Fingering, HandAt
from coach.fretboard.reach import REACHES, SEASONED, STARTER, Reach, own_reach
from coach.fretboard.score import Freedom, NoteId
from coach.fretboard.solve import solve
from coach.fretboard.stops import Neck
from coach.fretboard.tuning import SCALE_MM, STANDARD, Tuning
from coach.fretboard.wishes import NO_WISHES, NoteWish, Wishes, chosen_places

__all__ = [
    "NO_WISHES",
    "REACHES",
    "SCALE_MM",
    "SEASONED",
    "STANDARD",
    "STARTER",
    "BarDifficulty",
    "Blocked",
    "Conflict",
    "Explorer",
    "FingeredNote",
    "Fingering",
    "Freedom",
    "HandAt",
    "Neck",
    "NoteId",
    "NoteWish",
    "PlaceOption",
    "Reach",
    "Tuning",
    "Wishes",
    "chosen_places",
    "difficulty",
    "hardest_bar",
    "own_reach",
    "solve",
]
