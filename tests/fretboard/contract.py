"""The shape of `coach finger --json`, key by key, written from the contract of the command line alone."""

import re
from fractions import Fraction
from math import isfinite
from typing import Any

KEYS = {
    "input": str, "playable": bool, "as_written": bool, "cost": (float, int, type(None)), "reach": str,
    "tuning": list, "capo": int, "changes": list, "notes": list, "hand": list, "blocked": list,
}  # fmt: skip
CHANGE = {"kind": str, "line": (str, type(None)), "onset": (str, type(None)), "detail": str}
NOTE = {
    "line": str, "onset": str, "duration": str, "midi": int, "string": int, "fret": int,
    "finger": (int, type(None)), "right_hand": str,
}  # fmt: skip
HAND = {"onset": str, "position": int}
BLOCKED = {
    "onset": str, "reason": str, "mm": (float, int, type(None)), "frets": (int, type(None)),
}  # fmt: skip
KINDS = {
    "shorten_bass", "bass_note_octave", "melody_octave", "bass_octave", "lower_string_6", "transpose", "capo",
}  # fmt: skip
DENOMINATORS = {1, 2, 3, 4, 6, 8, 12, 16}
_TIME = re.compile(r"(0|[1-9]\d*)(/[1-9]\d*)?")


def broken_shape(value: dict[str, Any]) -> list[str]:
    """Every way in which one value leaves the contract; a failed input has its own shape."""
    if "error" in value:
        return _failed(value)
    found = _keys("value", value, KEYS)
    if found:
        return found
    for name, shape in (("changes", CHANGE), ("notes", NOTE), ("hand", HAND), ("blocked", BLOCKED)):
        for item in value[name]:
            found += _keys(name, item, shape)
    return found or [*_values(value), *_notes(value), *_changes(value)]


def _failed(value: dict[str, Any]) -> list[str]:
    error = value["error"]
    good = set(value) == {"input", "error"} and set(error) == {"code", "message"}
    said = good and error["code"] and str(error["message"]).strip().endswith((".", "!", "?"))
    return [] if said else [f"an error of another shape: {value}"]


def _keys(name: str, item: dict[str, Any], shape: dict[str, Any]) -> list[str]:
    if set(item) != set(shape):
        return [f"{name}: keys {sorted(set(item) ^ set(shape))}"]
    wrong = [key for key, kind in shape.items() if not _is(item[key], kind)]
    return [f"{name}: {key} is {item[key]!r}" for key in wrong]


def _is(value: object, kind: Any) -> bool:
    kinds = kind if isinstance(kind, tuple) else (kind,)
    if isinstance(value, bool) and bool not in kinds:
        return False
    return isinstance(value, kind) and (not isinstance(value, float) or isfinite(value))


def _values(value: dict[str, Any]) -> list[str]:
    found = []
    if (value["cost"] is None) == value["playable"]:
        found.append("cost is null exactly where it is not playable")
    if value["as_written"] != (not value["blocked"]):
        found.append("blocked is empty exactly when as_written is true")
    if value["as_written"] and (value["changes"] or not value["playable"]):
        found.append("as written, with changes or not playable")
    if not value["playable"] and (value["notes"] or value["hand"] or value["changes"]):
        found.append("unplayable, with notes, hand or changes")
    if len(value["tuning"]) != 6 or not all(isinstance(midi, int) for midi in value["tuning"]):
        found.append("six strings")
    times = [item["onset"] for item in (*value["notes"], *value["hand"], *value["blocked"])]
    return found + [f"time {time}" for time in times if not _good_time(time)]


def _good_time(text: str) -> bool:
    return bool(_TIME.fullmatch(text)) and Fraction(text).denominator in DENOMINATORS


def _notes(value: dict[str, Any]) -> list[str]:
    found = []
    for note in value["notes"]:
        if not _good_time(note["duration"]) or Fraction(note["duration"]) <= 0:
            found.append(f"duration {note['duration']}")
        if note["line"] not in {"melody", "bass"} or note["right_hand"] not in {"p", "i", "m", "a"}:
            found.append(f"line or right hand: {note}")
        if (note["fret"] == 0) != (note["finger"] is None) or not 1 <= note["string"] <= 6:
            found.append(f"place or finger: {note}")
        if note["string"] >= 4 and note["right_hand"] == "a":
            found.append(f"the ring finger on the thumb's strings: {note}")
    onsets = [Fraction(hand["onset"]) for hand in value["hand"]]
    if onsets != sorted(set(onsets)):
        found.append("hand is not in order of time, one an onset")
    return found


def _changes(value: dict[str, Any]) -> list[str]:
    found = []
    for change in value["changes"]:
        kind, line, onset = change["kind"], change["line"], change["onset"]
        if kind not in KINDS or not change["detail"]:
            found.append(f"kind of change: {change}")
        single = kind in {"shorten_bass", "bass_note_octave"}
        if single != (onset is not None) or (onset is not None and not _good_time(onset)):
            found.append(f"onset of a change: {change}")
        expected = {"melody_octave": "melody", "lower_string_6": None, "transpose": None, "capo": None}
        if line != expected.get(kind, "bass"):
            found.append(f"line of a change: {change}")
    return found
