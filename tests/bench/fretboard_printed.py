"""The parts of `tests.bench.fretboard` that look at printed editions: see there."""

import json
import random
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

from coach.fretboard import SEASONED, STARTER, Blocked, Fingering, NoteId, NoteWish, Tuning, Wishes, solve
from coach.music import Key, Meter, Pitch
from coach.notation import Arrangement, Line, LineKind, Note, Place
from tests.fretboard.checker import TABLE, broken_moment

RESAMPLES = 4000
KEY = Key.parse("C")
Notes = list[dict[str, Any]]


def as_time(value: float) -> Fraction:
    return Fraction(value).limit_denominator(48)


def printed(notes: Notes) -> tuple[Arrangement, dict[NoteId, dict[str, Any]]]:
    """Printed notes laid into two lines, and which printed note each became."""
    free = {LineKind.MELODY: Fraction(0), LineKind.BASS: Fraction(0)}
    lines: dict[LineKind, list[tuple[Note, dict[str, Any]]]] = {LineKind.MELODY: [], LineKind.BASS: []}
    start = as_time(min(note["on"] for note in notes))
    for note in sorted(notes, key=lambda one: (one["on"], -one["midi"])):
        onset, duration = as_time(note["on"]) - start, as_time(note["dur"])
        order = (LineKind.MELODY, LineKind.BASS) if note["midi"] >= 55 else (LineKind.BASS, LineKind.MELODY)
        kind = next(kind for kind in order if free[kind] <= onset)
        free[kind] = onset + duration
        lines[kind].append((Note(onset, duration, Pitch.from_midi(note["midi"])), note))
    names = {
        NoteId(kind, index): source for kind, row in lines.items() for index, (_, source) in enumerate(row)
    }
    melody, bass = (Line.of(kind, [note for note, _ in lines[kind]]) for kind in LineKind)
    return Arrangement("span", Meter.parse("4/4"), KEY, 90, melody, bass), names


def tuning_of(span: dict[str, Any]) -> Tuning:
    low6, low5, low4, low3, low2, low1 = span["tuning"]
    return Tuning((low6, low5, low4, low3, low2, low1))


def share(part: float, whole: float) -> str:
    return f"{part:g} of {whole:g} ({100 * part / whole:.1f} %)" if whole else "none"


def spans(data: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((data / "printed_fingering.json").read_text(encoding="utf-8"))
    return found


def windows(span: dict[str, Any], bars: int = 2) -> Iterator[Notes]:
    """Every run of two bars that has a printed finger or string."""
    numbers = sorted({note["bar"] for note in span["notes"]})
    for number in numbers:
        notes = [note for note in span["notes"] if number <= note["bar"] < number + bars]
        if any(note["finger"] is not None or note["string"] for note in notes):
            yield notes


def wishes_of(names: dict[NoteId, dict[str, Any]], tuning: Tuning) -> Wishes:
    """The printed fingers and strings as wishes."""
    found = []
    for name, note in names.items():
        place = None
        if note["string"]:
            fret = note["midi"] - tuning.open_midi(note["string"])
            place = Place(note["string"], fret) if fret >= 0 else None
        if place is not None or note["finger"] is not None:
            found.append(NoteWish(name, place, note["finger"]))
    return Wishes(notes=tuple(found))


def printed_limits(data: Path) -> None:
    """Spans playable as written, whole and by runs of bars; printed fingerings that the limits admit.

    A whole span of fifty bars is lost by a single note, so that the share falls with the length: it is told
    for each. Every span that fails is looked at again without the solver: `beyond` tries all ways to hold its
    notes by the table alone, so that a failure is that of the table and not of the search.
    """
    for reach in (STARTER, SEASONED):
        admitted = total = 0
        for span in spans(data):
            tuning = tuning_of(span)
            for notes in windows(span):
                piece, names = printed(notes)
                total += 1
                answer = solve(piece, tuning=tuning, reach=reach, wishes=wishes_of(names, tuning))
                admitted += isinstance(answer, Fingering)
        print(
            f"printed, {reach.name}: printed fingering admitted {share(admitted, total)} of two-bar windows"
        )
        for bars in (1, 2, 4, 8, 16, None):
            lost = proven = whole = 0
            for span in spans(data):
                tuning = tuning_of(span)
                for notes in runs(span, bars):
                    piece, _ = printed(notes)
                    answer = solve(piece, tuning=tuning, reach=reach)
                    whole += 1
                    if isinstance(answer, Blocked):
                        lost += 1
                        proven += beyond(piece, tuning, reach.name)
            length = "whole spans" if bars is None else f"runs of {bars} bars"
            print(
                f"printed, {reach.name}: {length} playable as written {share(whole - lost, whole)}; of the "
                f"{lost} others {proven} beyond the table by trying every way"
            )


def runs(span: dict[str, Any], bars: int | None) -> Iterator[Notes]:
    """A span cut into runs of so many bars, one after the other; whole for ``None``."""
    numbers = sorted({note["bar"] for note in span["notes"]})
    size = bars or len(numbers)
    for first in range(0, len(numbers), size):
        within = set(numbers[first : first + size])
        yield [note for note in span["notes"] if note["bar"] in within]


def beyond(piece: Arrangement, tuning: Tuning, reach: str) -> bool:
    """Whether, at some onset, the one or two notes that sound cannot be held in any way by the table."""
    _, highest, highest_position = TABLE[reach]
    for onset in piece.onsets():
        sounding = [note for line in piece.lines for note in line if note.onset <= onset < note.end]
        pitches = sorted({note.midi for note in sounding})
        ways = [
            [
                {"onset": onset, "midi": midi, "string": string, "fret": fret, "finger": finger or None}
                for string in range(1, 7)
                if 0 <= (fret := midi - tuning.open_midi(string)) <= highest
                for finger in ((1, 2, 3, 4) if fret else (0,))
            ]
            for midi in pitches
        ]
        value = {"reach": reach, "capo": 0}
        if not any(
            not broken_moment(onset, position, list(chosen), value)
            for position in range(1, highest_position + 1)
            for chosen in product(*ways)
        ):
            return True
    return False


def agreement(data: Path) -> None:
    """Share of printed fingers met, against always taking the lowest fret; bootstrap by piece."""
    by_piece: dict[str, list[tuple[int, int, int]]] = defaultdict(list)
    for span in spans(data):
        tuning = tuning_of(span)
        piece, names = printed(span["notes"])
        answer = solve(piece, tuning=tuning, reach=SEASONED)
        if not isinstance(answer, Fingering):
            continue
        for note in answer.notes:
            source = names[note.name]
            if source["finger"] is not None:
                met = (note.finger or 0) == source["finger"]
                by_piece[span["mutopia_id"]].append(
                    (1, met, lowest(source["midi"], tuning) == source["finger"])
                )
    rows = [[sum(column) for column in zip(*row, strict=True)] for row in by_piece.values()]
    total, ours, theirs = (sum(column) for column in zip(*rows, strict=True))
    rng = random.Random(1)
    gains, shares = [], []
    for _ in range(RESAMPLES):
        count, mine, other = (sum(c) for c in zip(*rng.choices(rows, k=len(rows)), strict=True))
        gains.append((mine - other) / count)
        shares.append(mine / count)
    gains.sort()
    shares.sort()
    low, high = RESAMPLES // 40, RESAMPLES - RESAMPLES // 40 - 1
    print(
        f"agreement: fingers met {share(ours, total)}, "
        f"95 % {100 * shares[low]:.1f} to {100 * shares[high]:.1f} %; lowest fret {share(theirs, total)}; "
        f"gain 95 % {100 * gains[low]:+.1f} to {100 * gains[high]:+.1f} points; {len(rows)} pieces"
    )


def lowest(midi: int, tuning: Tuning) -> int:
    """The finger of whoever always takes the lowest fret, one finger a fret."""
    frets = [midi - tuning.open_midi(string) for string in range(1, 7) if midi >= tuning.open_midi(string)]
    return min(min(frets, default=0), 4)


def editions(data: Path) -> None:
    """Editors and licences of the printed spans."""
    for row in sorted({(s["title"], s["edition_by"], s["licence"], s["mutopia_id"]) for s in spans(data)}):
        print("; ".join(map(str, row)))
