"""Fitting a piece to the guitar: a short list of keys with capo, each with its reasons.

Good keys put the roots of the home chord and of its two neighbours (I, IV, V) on the open bass strings and
keep the tune within the first five to seven frets (common practice among guitar teachers, no source). The
weights are ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from coach.fretboard import STANDARD, Tuning
from coach.music.key import Key
from coach.notation.line import Line

FURTHEST_SHIFT = 6
"""Semitones; further shifts are nearer from the other side, and a recording suffers by them."""
FURTHEST_CAPO = 5
"""Above, too little neck is left for a first piece. Common practice, no source."""
EASY_FRETS, MOST_FRETS = 5, 7
"""The tune should lie within the first five to seven frets (from the capo)."""
LEAST_OPTIONS = 3
"""So many shapes to choose from, where there are so many."""
_BASS_STRINGS = (6, 5, 4)
_ROOT_STEPS = ((0, 1.2), (7, 1.0), (5, 0.8))
"""Semitones of I, V, IV above the home note, and what an open bass string on each is worth."""
_SHIFT_COST, _CAPO_COST, _CAPO_FRET_COST = 0.12, 0.25, 0.08
"""For each semitone that the recording is shifted; for a capo, and for each of its frets."""
_FRET_COST, _FAR_FRET_COST, _OUT_COST = 0.15, 0.5, 1.0
"""For each fret of the highest note past the easy ones, and past the seventh; each semitone out of range."""
_BASS_TOP_FRET = 5
"""Above this fret of string 4 the bass goes where the tune begins."""
_LOWEST_TUNE_STRING, _LOW_COST = 4, 0.08
"""The tune's lowest string; and for each semitone that its highest note stays below the open first one."""
_OPEN_TUNE, _OPEN_BASS = 0.6, 1.6
"""What a line is worth that sounds on open strings all the time."""
_OCTAVES, _OCTAVE_COST = (0, 1, -1, 2, -2, 3, -3), 0.05
"""How far a line may be moved, and the cost of each octave: between equals it stays where it is."""
_LEAST_APART, _NEAR_COST = 12, 0.1
"""Semitones that the means of the lines should lie apart, and the cost of each that is missing."""

Weights: TypeAlias = dict[int, float]
"""Share of a line's sounding time by MIDI note; the shares add up to 1."""


@dataclass(frozen=True, slots=True)
class FitOption:
    """One key with capo.

    Parameters
    ----------
    key
        The key that sounds.
    shape
        The key that the hand plays: counted from the capo; the same without one.
    capo
        Fret of the capo, 0 for none.
    shift_semitones
        How far the recording is shifted.
    melody_octaves, bass_octaves
        Octaves by which whole lines are put into the guitar's register, after the shift, at no price.
    open_roots
        Which of I, IV, V lie on open bass strings, as names in the sounding key.
    highest_fret
        Highest fret of the tune on the first string, from the capo; 0 or less: all on open strings or below.
    reasons
        Sentences for the player.
    score
        The higher the better; only for comparing.
    """

    key: Key
    shape: Key
    capo: int
    shift_semitones: int
    melody_octaves: int
    bass_octaves: int
    open_roots: tuple[str, ...]
    highest_fret: int
    reasons: tuple[str, ...]
    score: float


def fit(melody: Line | None, bass: Line | None, key: Key, tuning: Tuning = STANDARD) -> tuple[FitOption, ...]:
    """Three to five keys with capo that suit the guitar, the best first.

    Parameters
    ----------
    melody, bass
        What is known of the lines (the first phrase is enough); ``None`` or empty where nothing is.
    key
        The key that the piece is in now.
    tuning
        The guitar's.

    Returns
    -------
    tuple of FitOption
        The best three keys to play in; then, unless they are among them, the best that leaves the recording
        at its own pitch, and the one that needs no capo either.
    """
    tune, low = _weights(melody), _weights(bass)
    # Where a line lies on the neck depends on the shift less the capo only.
    registers = {
        by: _best_registers(tune, low, by, tuning)
        for by in range(-FURTHEST_SHIFT + 1 - FURTHEST_CAPO, FURTHEST_SHIFT + 1)
    }
    options = [
        _option(max(tune, default=None), registers[shift - capo], key, shift, capo, tuning)
        for shift in range(-FURTHEST_SHIFT + 1, FURTHEST_SHIFT + 1)
        for capo in range(FURTHEST_CAPO + 1)
    ]
    ranked = sorted(options, key=lambda option: (-option.score, option.capo, abs(option.shift_semitones)))
    chosen = _different(ranked)
    for wanted in (_as_recorded(ranked), _untouched(ranked)):
        if wanted is not None and wanted not in chosen:
            chosen.append(wanted)
    return tuple(sorted(chosen, key=lambda option: -option.score))


def _as_recorded(ranked: Sequence[FitOption]) -> FitOption:
    """The best option that leaves the recording at its own pitch."""
    return next(option for option in ranked if option.shift_semitones == 0)


def _untouched(ranked: Sequence[FitOption]) -> FitOption | None:
    """The option without shift and capo, if the tune lies within reach in it."""
    return next(
        (o for o in ranked if o.shift_semitones == o.capo == 0 and o.highest_fret <= MOST_FRETS), None
    )


def _different(ranked: Sequence[FitOption]) -> list[FitOption]:
    """The best options of which no two have the same shape."""
    chosen: list[FitOption] = []
    for option in ranked:
        if all(option.shape != other.shape for other in chosen):
            chosen.append(option)
        if len(chosen) == LEAST_OPTIONS:
            break
    return chosen


def _weights(line: Line | None) -> Weights:
    found: dict[int, Fraction] = {}
    for note in line or ():
        found[note.midi] = found.get(note.midi, Fraction(0)) + note.duration
    total = sum(found.values())
    return {midi: float(length / total) for midi, length in found.items()}


@dataclass(frozen=True, slots=True)
class _Registers:
    """Both lines in their best octaves: how many octaves each moved, and what they are worth there."""

    melody: int
    bass: int
    score: float


def _option(
    top: int | None, placed: _Registers, key: Key, shift: int, capo: int, tuning: Tuning
) -> FitOption:
    """One way; ``top`` is the highest note of the tune, if there is one."""
    sounding = key if shift == 0 else key.transposed(shift)
    shape = sounding if capo == 0 else sounding.transposed(-capo)
    roots = _open_roots(sounding, shape, tuning)
    root_score = sum(worth for step, worth in _ROOT_STEPS if _is_open(shape, step, tuning))
    cost = _SHIFT_COST * abs(shift) + (_CAPO_COST + _CAPO_FRET_COST * capo if capo else 0.0)
    highest = 0 if top is None else top + shift - capo + 12 * placed.melody - tuning.open_midi(1)
    return FitOption(
        key=sounding,
        shape=shape,
        capo=capo,
        shift_semitones=shift,
        melody_octaves=placed.melody,
        bass_octaves=placed.bass,
        open_roots=roots,
        highest_fret=highest,
        reasons=_reasons(roots, highest if top is not None else None, capo, shape, shift),
        score=root_score + placed.score - cost,
    )


def _best_registers(tune: Weights, low: Weights, by: int, tuning: Tuning) -> _Registers:
    """Whole lines in the octaves where they lie best, the bass well below the tune."""
    tunes = {octaves: _moved(tune, by + 12 * octaves) for octaves in _OCTAVES}
    basses = {octaves: _moved(low, by + 12 * octaves) for octaves in _OCTAVES}
    tune_scores = {k: _tune_score(notes, tuning) if notes else 0.0 for k, notes in tunes.items()}
    bass_scores = {k: _bass_score(notes, tuning) if notes else 0.0 for k, notes in basses.items()}
    found = [
        _Registers(
            melody,
            bass,
            tune_scores[melody]
            + bass_scores[bass]
            - _OCTAVE_COST * (abs(melody) + abs(bass))
            - _near_cost(tunes[melody], basses[bass]),
        )
        for melody in (_OCTAVES if tune else (0,))
        for bass in (_OCTAVES if low else (0,))
    ]
    return max(found, key=lambda registers: registers.score)


def _moved(notes: Weights, by: int) -> Weights:
    return {midi + by: share for midi, share in notes.items()}


def _near_cost(tune: Weights, low: Weights) -> float:
    """Lines whose means are less than an octave apart get into each other's way."""
    if not tune or not low:
        return 0.0
    return _NEAR_COST * max(0.0, _LEAST_APART - (_mean(tune) - _mean(low)))


def _mean(notes: Weights) -> float:
    return sum(midi * share for midi, share in notes.items())


def _tune_score(notes: Weights, tuning: Tuning) -> float:
    """Open strings are good; high frets cost, beyond the seventh more; low strings belong to the bass."""
    top = tuning.open_midi(1)
    floor = tuning.open_midi(_LOWEST_TUNE_STRING)
    opens = {tuning.open_midi(string) for string in range(1, _LOWEST_TUNE_STRING + 1)}
    score = _OPEN_TUNE * _share(notes, opens)
    highest, lowest = max(notes) - top, min(notes) - floor
    score -= _FRET_COST * max(0, highest - EASY_FRETS) + _FAR_FRET_COST * max(0, highest - MOST_FRETS)
    return score - _OUT_COST * max(0, -lowest) - _LOW_COST * max(0, -highest)


def _bass_score(notes: Weights, tuning: Tuning) -> float:
    """Open bass strings are good; below them nothing sounds; above fret 5 of string 4 the tune begins."""
    opens = {tuning.open_midi(string) for string in _BASS_STRINGS}
    below = max(0, tuning.open_midi(6) - min(notes))
    above = max(0, max(notes) - tuning.open_midi(4) - _BASS_TOP_FRET)
    return _OPEN_BASS * _share(notes, opens) - _OUT_COST * below - _FRET_COST * above


def _share(notes: Weights, wanted: set[int]) -> float:
    return sum(share for midi, share in notes.items() if midi in wanted)


def _is_open(shape: Key, step: int, tuning: Tuning) -> bool:
    classes = {tuning.open_midi(string) % 12 for string in _BASS_STRINGS}
    return (shape.tonic_class + step) % 12 in classes


def _open_roots(sounding: Key, shape: Key, tuning: Tuning) -> tuple[str, ...]:
    """Names, in the sounding key, of those roots of I, IV, V that are open bass strings."""
    return tuple(
        sounding.spell(60 + sounding.tonic_class + step).name.rstrip("-0123456789")
        for step in (0, 5, 7)
        if _is_open(shape, step, tuning)
    )


def _reasons(
    roots: tuple[str, ...], highest: int | None, capo: int, shape: Key, shift: int
) -> tuple[str, ...]:
    return (
        _roots_sentence(roots),
        *([] if highest is None else [_frets_sentence(highest)]),
        "No capo is needed."
        if capo == 0
        else f"With the capo on fret {capo} you play as if in {shape.name}.",
        _shift_sentence(shift),
    )


def _roots_sentence(roots: tuple[str, ...]) -> str:
    match len(roots):
        case 3:
            return f"All three main bass notes ring on open strings: {', '.join(roots)}."
        case 2:
            return f"Two of the three main bass notes ring on open strings: {' and '.join(roots)}."
        case 1:
            return f"One of the three main bass notes rings on an open string: {roots[0]}."
        case _:
            return "None of the three main bass notes is an open string."


def _frets_sentence(highest: int) -> str:
    if highest <= 0:
        return "The tune needs no fret on the first string."
    if highest <= EASY_FRETS:
        return (
            f"The tune lies within the first {highest} frets."
            if highest > 1
            else "The tune lies low on the neck."
        )
    if highest <= MOST_FRETS:
        return f"The tune goes up to fret {highest}."
    return f"The tune goes high up the neck, to fret {highest}."


def _shift_sentence(shift: int) -> str:
    if shift == 0:
        return "The recording sounds as it is."
    frets = f"{abs(shift)} frets" if abs(shift) > 1 else "one fret"
    return f"The recording sounds {frets} {'higher' if shift > 0 else 'lower'} than it is."
