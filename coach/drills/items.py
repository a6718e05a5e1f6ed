"""What the items and patterns of each kind may be, and how they are read."""

import re
from fractions import Fraction
from typing import Final

from coach.drills.kinds import Kind
from coach.music.interval import Interval
from coach.music.pitch import Pitch

_STEPS_AND_SEMITONES: Final = {
    "P1": (0, 0), "m2": (1, 1), "M2": (1, 2), "m3": (2, 3), "M3": (2, 4), "P4": (3, 5), "A4": (3, 6),
    "d5": (4, 6), "P5": (4, 7), "m6": (5, 8), "M6": (5, 9), "m7": (6, 10), "M7": (6, 11), "P8": (7, 12),
    "m9": (8, 13), "M9": (8, 14), "m10": (9, 15), "M10": (9, 16),
}  # fmt: skip
"""Intervals of common practice up to the major tenth: diatonic steps and semitones."""
_INTERVALS = ("|".join(name for name in _STEPS_AND_SEMITONES if name != "P1"), "intervals such as M3 or P5")
_ITEM_FORMS: Final = {
    Kind.SAME_HIGHER_LOWER: _INTERVALS,
    Kind.MATCH_NOTE: ("note", "the one item “note”"),
    Kind.ECHO_NOTE: ("note", "the one item “note”"),
    Kind.HOME_NOTE: ("major|minor", "“major” and “minor”"),
    Kind.STEP_SKIP_REPEAT: _INTERVALS,
    Kind.DEGREE_OVER_DRONE: ("[1-7]", "degrees from 1 to 7"),
    Kind.INTERVAL_ECHO: _INTERVALS,
    Kind.INTERVAL_FROM_NOTE: _INTERVALS,
    Kind.BASS_MOVES: ("[1-7](-[1-7]){1,3}", "degrees joined by “-” such as 1-5-4"),
    Kind.TAP_BASS_CHANGE: ("bars|inside", "“bars” and “inside”"),
    Kind.TWO_NOTE_CHORD: _INTERVALS,
    Kind.CHORD_OUTER: ("lowest|top", "“lowest” and “top”"),
    Kind.PHRASE_ECHO: ("[3-6]", "numbers of notes from 3 to 6"),
    Kind.RHYTHM_ECHO: ("[a-z]+", "names of rhythms in small letters"),
    Kind.NATURAL_NOTES: ("[1-6]", "strings from 6 to 1"),
    Kind.OTHER_PLACES: ("[1-6]", "strings from 6 to 1"),
    Kind.PIECE_MOVES: ("pairs|chains", "“pairs” and “chains”"),
    Kind.NAME_INTERVAL: _INTERVALS,
}
"""For each kind the form of its items, and the same in words."""
_DEGREE = re.compile(r"-?[1-9]")


def interval_named(name: str) -> Interval:
    """A rising interval by its short name, such as ``M3``; ``ValueError`` for an unknown one."""
    if name not in _STEPS_AND_SEMITONES:
        raise ValueError(f"no such interval: {name}")
    return Interval(*_STEPS_AND_SEMITONES[name])


def interval_names() -> tuple[str, ...]:
    """Short names of all intervals that drills may use, from small to large."""
    return tuple(_STEPS_AND_SEMITONES)


def interval_of_semitones(semitones: int) -> Interval:
    """The usual interval of so many semitones, 0 to 16; six are an augmented fourth."""
    name = next(name for name, (_, size) in _STEPS_AND_SEMITONES.items() if size == semitones)
    return interval_named(name)


def above(pitch: Pitch, name: str, *, up: bool) -> Pitch:
    """The pitch an interval above (or below) another."""
    interval = interval_named(name)
    return interval.above(pitch) if up else Interval(-interval.steps, -interval.semitones).above(pitch)


def item_fault(kind: Kind, item: str) -> str | None:
    """``None`` for a good item of a kind, else in words what its items must be."""
    form, wanted = _ITEM_FORMS[kind]
    return None if re.fullmatch(form, item) else wanted


def pattern_fault(kind: Kind, rows: tuple[tuple[str, ...], ...] | None) -> str | None:
    """``None`` where an item's patterns are good (or none are needed), else what they must be."""
    if kind is Kind.RHYTHM_ECHO:
        try:
            onsets = [[Fraction(token) for token in row] for row in rows or ()]
        except (ValueError, ZeroDivisionError):
            onsets = []
        rising = all(
            len(row) >= 2 and row == sorted(set(row)) and row[0] >= -1 and row[-1] < 8 for row in onsets
        )
        return None if onsets and rising else "have rows of rising onsets in quarters, from -1 to below 8"
    if kind is Kind.HOME_NOTE:
        fine = bool(rows) and all(
            len(row) >= 3 and all(_DEGREE.fullmatch(token) for token in row) for row in rows or ()
        )
        return None if fine else "have rows of at least three degrees, from -7 to 9"
    return "go: this kind has no patterns" if rows is not None else None
