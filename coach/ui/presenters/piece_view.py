"""What the screens of a piece have in common: names, bars, neck, strip as view values."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

import numpy as np

from coach.fretboard import Tuning
from coach.music import BeatGrid, Pitch
from coach.music.naming import Naming, screen_name
from coach.notation import Line, LineKind
from coach.pieces.verdicts import Nearby, Outcome, Verdict
from coach.practice.piece_state import PieceState, SectionState
from coach.practice.settings import Settings
from coach.sessions.piece.material import key_of
from coach.sessions.ports import Samples
from coach.ui.presenters.drawn import Answer, NeckNote, NeckView, OtherPlace, StripNote, StripView, Tile

SHAPE_POINTS = 24
NECK_FRETS = 12
SCREEN_WORD = {LineKind.MELODY: "tune", LineKind.BASS: "bass"}
"""What a beginner reads for the two lines."""


def name_of(midi: int, piece: PieceState | None, naming: Naming) -> str:
    """A note's name on screen, spelled in the piece's key."""
    pitch = key_of(piece).spell(midi) if piece is not None else Pitch.from_midi(midi)
    return screen_name(pitch, naming)


def shift_of(piece: PieceState | None) -> float:
    """Semitones by which the recording is played shifted: the chosen key, and its tuning offset taken out."""
    if piece is None or piece.key is None:
        return 0.0
    return piece.key.shift_semitones - piece.key.tuning_cents / 100.0


def bar_onsets(piece: PieceState, section: SectionState) -> tuple[Fraction, ...]:
    """Onset of each bar of a section (an upbeat is a bar of its own), and the section's end."""
    bar, pickup = piece.meter.bar, piece.pickup
    first = pickup + bar * (-((pickup - section.onset) // bar))
    starts = [section.onset] if first > section.onset else []
    while first < section.end:
        starts.append(first)
        first += bar
    return (*starts, section.end)


def tiles_of(
    piece: PieceState, section: SectionState, grid: BeatGrid, mono: Samples, rate_hz: int
) -> tuple[Tile, ...]:
    """One tile a bar of a section with the loudness of the recording in it."""
    return tiles_between(piece, bar_onsets(piece, section), grid, mono, rate_hz)


def tiles_between(
    piece: PieceState, onsets: Sequence[Fraction], grid: BeatGrid, mono: Samples, rate_hz: int
) -> tuple[Tile, ...]:
    """Tiles of the bars between onsets in quarters, the end of the last one included."""
    spans = [(grid.second_of(a), grid.second_of(b)) for a, b in pairwise(onsets)]
    shapes = [_shape(mono, rate_hz, start_s, end_s) for start_s, end_s in spans]
    loudest = max((max(shape, default=0.0) for shape in shapes), default=0.0) or 1.0
    return tuple(
        Tile(
            bar_number(piece, onset),
            tuple(value / loudest for value in shape),
            max(1, round((end - onset) / piece.meter.beat)),
        )
        for onset, end, shape in zip(onsets, onsets[1:], shapes, strict=False)
    )


def bar_number(piece: PieceState, onset: Fraction) -> int:
    """As bars are counted: 0 is the upbeat, 1 the first full bar."""
    return int((onset - piece.pickup) // piece.meter.bar) + 1


def _shape(mono: Samples, rate_hz: int, start_s: float, end_s: float) -> tuple[float, ...]:
    first, last = max(0, round(start_s * rate_hz)), min(len(mono), round(end_s * rate_hz))
    if last - first < SHAPE_POINTS:
        return (0.0,) * SHAPE_POINTS
    parts = np.array_split(mono[first:last], SHAPE_POINTS)
    return tuple(float(np.sqrt(np.mean(np.square(part)))) for part in parts)


def answer_of(verdict: Verdict | None) -> Answer:
    """A verdict as it is marked on the strip."""
    if verdict is None:
        return Answer.UNASKED
    return _NEARBY[verdict.nearby] if verdict.nearby else _ANSWERS[verdict.outcome]


_ANSWERS = {
    Outcome.HEARD: Answer.HEARD,
    Outcome.OTHER_OCTAVE: Answer.OTHER_OCTAVE,
    Outcome.NOT_HEARD: Answer.NOT_HEARD,
    Outcome.CANNOT_TELL: Answer.CANNOT_TELL,
}
_NEARBY = {Nearby.EARLIER: Answer.EARLIER, Nearby.LATER: Answer.LATER}
"""Only *not heard there* has anything nearby."""


def strip_of(
    piece: PieceState,
    section: SectionState,
    lines: Sequence[Line],
    naming: Naming,
    verdicts: Mapping[tuple[LineKind, Fraction], Verdict],
    chosen: tuple[LineKind, Fraction] | None = None,
) -> StripView:
    """The lines of a section on the beat ruler."""
    onsets = bar_onsets(piece, section)
    notes = tuple(
        StripNote(
            line.kind,
            note.onset,
            note.duration,
            screen_name(note.pitch, naming),
            answer_of(verdicts.get((line.kind, note.onset))),
            note.long,
        )
        for line in lines
        for note in line
    )
    kinds = tuple(line.kind for line in lines)
    return StripView(onsets, piece.meter.beat, notes, kinds, bar_number(piece, onsets[0]), chosen)


def string_names(settings: Settings, capo: int, tuning: Tuning | None = None) -> tuple[str, ...]:
    """Names of strings 1 to 6 as they sound open; the player's own tuning by default."""
    strings = settings.tuning if tuning is None else tuning.strings
    return tuple(screen_name(Pitch.from_midi(midi + capo), settings.naming) for midi in reversed(strings))


def places_of(midi: int, settings: Settings, capo: int) -> tuple[tuple[int, int], ...]:
    """All places of a pitch: string (1 to 6) and fret counted from the capo, lowest fret first."""
    tuning = Tuning(settings.tuning)
    found = [(string, midi - tuning.open_midi(string) - capo) for string in range(1, 7)]
    return tuple(
        sorted((place for place in found if 0 <= place[1] <= NECK_FRETS), key=lambda place: place[1])
    )


def neck_of_note(
    midi: int | None,
    kind: LineKind,
    piece: PieceState | None,
    settings: Settings,
    place: tuple[int, int] | None = None,
) -> NeckView:
    """One note on the neck at a place of it, the others hollow; an empty neck without a note."""
    capo = piece.key.capo if piece is not None and piece.key is not None else 0
    names = string_names(settings, capo)
    if midi is None:
        return NeckView(names, capo=capo, frets=NECK_FRETS)
    places = places_of(midi, settings, capo)
    here = place if place in places else next(iter(places), None)
    if here is None:
        return NeckView(names, capo=capo, frets=NECK_FRETS)
    note = NeckNote(kind, *here, name_of(midi, piece, settings.naming))
    others = tuple(OtherPlace(kind, *other) for other in places if other != here)
    return NeckView(names, (note,), others, capo, NECK_FRETS)
