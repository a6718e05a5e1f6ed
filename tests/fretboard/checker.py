"""An independent checker of fingerings, written straight from the rules; it shares no code with the solver.

It reads the JSON value that ``coach finger --json`` prints for one file and returns every broken rule in
words. The rules (hard limits and their table are a contract of the command line):

* fret + capo + open string = sounding pitch; an open note has no finger; the fret counts from the capo;
* notes that sound together lie on different strings (a unison struck together is one note; a note whose
  pitch is struck again ends there);
* a higher finger never lies on a lower fret; the same finger twice only as a barre of the index;
* each finger lies within one fret and 37 mm of its home, position + finger - 1;
* two pressed fingers are no further apart than the table says; mm = x(c+f) - x(c), x(n) = 650(1-2^(-n/12));
* the highest fret and position, counted from the nut, stay within the table's last column.
"""

from fractions import Fraction
from itertools import combinations
from typing import Any

SCALE_MM = 650.0
EPSILON_MM = 1e-6
"""Rounding of floating-point arithmetic; far below what a hand could feel."""
TABLE = {
    "starter": ({(1, 2): 70, (1, 3): 100, (1, 4): 100, (2, 3): 40, (2, 4): 70, (3, 4): 40}, 12, 9),
    "seasoned": ({(1, 2): 100, (1, 3): 115, (1, 4): 128, (2, 3): 67, (2, 4): 90, (3, 4): 50}, 15, 12),
}


def broken_rules(value: dict[str, Any]) -> list[str]:
    """Every rule that the answer breaks."""
    if not value["playable"]:
        return _unplayable(value)
    notes = [
        {
            **note,
            "onset": Fraction(note["onset"]),
            "end": Fraction(note["onset"]) + Fraction(note["duration"]),
        }
        for note in value["notes"]
    ]
    hands = {Fraction(hand["onset"]): hand["position"] for hand in value["hand"]}
    found = [] if value["as_written"] == (not value["blocked"]) else ["blocked and as_written disagree"]
    for note in notes:
        found += _single(note, value)
    if sorted(hands) != sorted({note["onset"] for note in notes}):
        found.append("hand positions are not one for each onset")
    _end_repeated(notes)
    for onset, position in hands.items():
        sounding = [note for note in notes if note["onset"] <= onset < note["end"]]
        found += broken_moment(onset, position, _merged(sounding, onset, found), value)
    return found


def _unplayable(value: dict[str, Any]) -> list[str]:
    found = []
    if value["cost"] is not None or value["notes"] or value["hand"]:
        found.append("an unplayable answer holds a fingering")
    if not value["blocked"] or value["as_written"]:
        found.append("an unplayable answer says not why")
    return found


def _single(note: dict[str, Any], value: dict[str, Any]) -> list[str]:
    found = []
    name = f"{note['line']} at {note['onset']}"
    if not 1 <= note["string"] <= 6 or note["fret"] < 0:
        return [f"{name}: no such place"]
    if value["tuning"][6 - note["string"]] + value["capo"] + note["fret"] != note["midi"]:
        found.append(f"{name}: string and fret do not give the pitch")
    if note["fret"] == 0:
        if note["finger"] is not None:
            found.append(f"{name}: an open note has a finger")
        return found
    if note["finger"] not in {1, 2, 3, 4}:
        found.append(f"{name}: a pressed note has no finger")
    if note["fret"] + value["capo"] > TABLE[value["reach"]][1]:
        found.append(f"{name}: too high up the neck")
    return found


def _end_repeated(notes: list[dict[str, Any]]) -> None:
    for earlier in notes:
        for later in notes:
            if later["midi"] == earlier["midi"] and earlier["onset"] < later["onset"] < earlier["end"]:
                earlier["end"] = later["onset"]


def _merged(sounding: list[dict[str, Any]], onset: Fraction, found: list[str]) -> list[dict[str, Any]]:
    one, *rest = [*sounding, None, None][:2]
    other = rest[0]
    if one is None or other is None:
        return sounding
    if one["midi"] == other["midi"] and one["onset"] == other["onset"]:
        if (one["string"], one["finger"]) != (other["string"], other["finger"]):
            found.append(f"{onset}: a unison is played twice")
        return [one]
    return sounding


def broken_moment(
    onset: Fraction, position: int, sounding: list[dict[str, Any]], value: dict[str, Any]
) -> list[str]:
    """Every rule that is broken at one onset by the notes that sound, with the hand at a position."""
    found = []
    highest = TABLE[value["reach"]][2]
    if len(sounding) > 2:
        found.append(f"{onset}: more than two notes")
    pressed = [note for note in sounding if note["fret"] > 0 and note["finger"]]
    if position < 1 or (pressed and position + value["capo"] > highest):
        found.append(f"{onset}: no such position")
    for note in pressed:
        home = position + note["finger"] - 1
        if abs(note["fret"] - home) > 1 or _apart(note["fret"], home, value) > 37 + EPSILON_MM:
            found.append(f"{onset}: finger {note['finger']} is too far from home")
    for one, other in combinations(sounding, 2):
        if one["string"] == other["string"]:
            found.append(f"{onset}: two notes on string {one['string']}")
    for one, other in combinations(sorted(pressed, key=lambda note: note["finger"]), 2):
        found += _pair(onset, one, other, value)
    return found


def _pair(onset: Fraction, one: dict[str, Any], other: dict[str, Any], value: dict[str, Any]) -> list[str]:
    pair = (one["finger"], other["finger"])
    if pair[0] == pair[1]:
        barre = pair[0] == 1 and one["fret"] == other["fret"]
        return [] if barre else [f"{onset}: finger {pair[0]} in two places"]
    if other["fret"] < one["fret"]:
        return [f"{onset}: finger {pair[1]} below finger {pair[0]}"]
    limit_mm = TABLE[value["reach"]][0][pair]
    if _apart(one["fret"], other["fret"], value) > limit_mm + EPSILON_MM:
        return [f"{onset}: fingers {pair} too far apart"]
    return []


def _x(fret: int) -> float:
    return SCALE_MM * (1 - 2 ** (-fret / 12))


def _apart(one: int, other: int, value: dict[str, Any]) -> float:
    return abs(_x(value["capo"] + one) - _x(value["capo"] + other))
