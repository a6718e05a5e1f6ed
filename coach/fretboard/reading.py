"""From a path through the stances back to notes with places and fingers."""

from dataclasses import replace
from fractions import Fraction

from coach.fretboard.fingering import FingeredNote, Fingering, HandAt
from coach.fretboard.right_hand import right_hand
from coach.fretboard.score import NoteId, Score, note_of
from coach.fretboard.stances import Way, ways
from coach.fretboard.trellis import Trellis
from coach.notation.arrangement import Arrangement
from coach.notation.line import LineKind
from coach.notation.note import Note, Place

_GRIDS = (12, 16)
"""Together these hold every allowed denominator."""


def read(arrangement: Arrangement, trellis: Trellis, path: tuple[int, ...]) -> Fingering:
    """The fingering that a path stands for."""
    played = _played(trellis, path)
    let_go = _let_go(trellis, path)
    plucked = _plucked(trellis.score, played)
    notes = []
    for index, tone in enumerate(trellis.score.tones):
        way = played[index]
        for name in tone.notes:
            given = note_of(arrangement, name)
            notes.append(
                FingeredNote(
                    name=name,
                    note=_changed(given, name, way, let_go.get(index)),
                    given=given,
                    place=Place(way.stop.string, way.stop.fret),
                    finger=way.stop.finger or None,
                    right_hand=plucked[index],
                    short_price=_short_price(trellis.score, index, name, let_go),
                )
            )
    notes.sort(key=lambda note: (note.note.onset, note.line is LineKind.BASS))
    raised = trellis.score.freedom.raised or Fraction(0)
    price = sum((note.short_price + raised * note.raised for note in notes), Fraction(0))
    hand = tuple(_hand(trellis, path, at) for at in range(len(path)))
    cost = sum((moment.cost for moment in hand), 0.0)
    return Fingering(tuple(notes), hand, cost, price, trellis.tables.neck)


def _played(trellis: Trellis, path: tuple[int, ...]) -> dict[int, Way]:
    """For each tone how it was struck."""
    found: dict[int, Way] = {}
    for at, moment in enumerate(trellis.score.moments):
        chord = trellis.stances(at)
        for column, (tone, new) in enumerate(zip(moment.tones, moment.struck, strict=True)):
            if new:
                index = int(chord.way[path[at], column])
                found[tone] = ways(trellis.tables.neck, trellis.parts[at][column])[index]
    return found


def _let_go(trellis: Trellis, path: tuple[int, ...]) -> dict[int, Fraction]:
    """For each tone let go early the time of it."""
    found: dict[int, Fraction] = {}
    for at, moment in enumerate(trellis.score.moments):
        chord = trellis.stances(at)
        for column, tone in enumerate(moment.tones):
            if chord.gone[path[at], column]:
                found.setdefault(tone, moment.time)
    return found


def _plucked(score: Score, played: dict[int, Way]) -> dict[int, str]:
    struck = [
        tuple(tone for tone, new in zip(moment.tones, moment.struck, strict=True) if new)
        for moment in score.moments
    ]
    fingers = right_hand([tuple(played[tone].stop.string for tone in tones) for tones in struck])
    return {
        tone: finger
        for tones, plucks in zip(struck, fingers, strict=True)
        for tone, finger in zip(tones, plucks, strict=True)
    }


def _changed(given: Note, name: NoteId, way: Way, let_go: Fraction | None) -> Note:
    note = given
    if way.raised:
        note = replace(note, pitch=given.pitch.octaves_higher(1), place=None)
    if let_go is not None and name.line is LineKind.BASS and let_go < given.end:
        note = replace(note, duration=writable(let_go - given.onset))
    return note


def writable(duration: Fraction) -> Fraction:
    """The longest duration, no longer than the given one, that the notation can write."""
    return max(Fraction(int(duration * grid), grid) for grid in _GRIDS)


def _short_price(score: Score, tone: int, name: NoteId, let_go: dict[int, Fraction]) -> Fraction:
    if tone not in let_go or name.line is not LineKind.BASS:
        return Fraction(0)
    return (score.freedom.shorten or Fraction(0)) * (score.tones[tone].end - let_go[tone])


def _hand(trellis: Trellis, path: tuple[int, ...], at: int) -> HandAt:
    chord, row = trellis.stances(at), path[at]
    moment = trellis.score.moments[at]
    cost = float(trellis.plain[at][row])
    shifted = False
    if at:
        cost += float(trellis.moves(at)[path[at - 1], row])
        shifted = bool(trellis.stances(at - 1).position[path[at - 1]] != chord.position[row])
    pressed = chord.finger[row] > 0
    mm = trellis.tables.fret_mm[chord.fret[row]]
    held = any(not new and pressed[column] for column, new in enumerate(moment.struck))
    spread = abs(float(mm[0] - mm[1])) if pressed.all() else 0.0
    return HandAt(moment.time, int(chord.position[row]), cost, spread, bool(chord.barre[row]), shifted, held)
