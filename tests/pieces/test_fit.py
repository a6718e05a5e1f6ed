"""Fitting to the guitar against the open strings of any guitar handbook and music21's transposition.

Open strings from the thickest: E2 A2 D3 G3 B3 E4. Which keys suit is common practice: A, D, E and their
minors have their main bass notes on open strings; F sharp, A flat and the like have not.
"""

from fractions import Fraction

import music21
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.fretboard import STANDARD
from coach.music.key import Key, Mode
from coach.notation import Line, LineKind, Note
from coach.pieces.fit import FURTHEST_CAPO, MOST_FRETS, FitOption, fit
from tests.strategies import keys

HANDBOOK = {"E": 40, "A": 45, "D": 50}


def line(kind: LineKind, key: Key, *midis: int) -> Line:
    return Line(kind, tuple(Note(Fraction(k), Fraction(1), key.spell(m)) for k, m in enumerate(midis)))


def phrase(key: Key, tonic: int) -> tuple[Line, Line]:
    """A tune over one octave and the roots of I, IV, V, I."""
    scale = (0, 2, 4, 5, 7, 9, 11, 12) if key.mode is Mode.MAJOR else (0, 2, 3, 5, 7, 8, 10, 12)
    tune = line(LineKind.MELODY, key, *(tonic + step for step in scale))
    return tune, line(LineKind.BASS, key, *(tonic - 24 + step for step in (0, 5, 7, 0)))


def options(name: str, tonic: int) -> tuple[FitOption, ...]:
    key = Key.parse(name)
    return fit(*phrase(key, tonic), key)


def test_the_open_strings_are_those_of_the_handbook() -> None:
    assert [STANDARD.open_midi(string) for string in (6, 5, 4)] == list(HANDBOOK.values())


def test_a_piece_in_a_stays_as_it_is() -> None:
    best = options("A", 57)[0]
    assert (best.key.name, best.capo, best.shift_semitones) == ("A", 0, 0)
    assert best.open_roots == ("A", "D", "E")


def test_a_piece_in_b_flat_gets_a_capo_or_goes_down_a_fret() -> None:
    found = {(o.key.name, o.capo) for o in options("Bb", 58)[:2]}
    assert found == {("A", 0), ("Bb", 1)}


@settings(max_examples=40, deadline=None)
@given(keys(), st.integers(40, 76))
def test_there_are_three_to_five_ways_with_reasons(key: Key, tonic: int) -> None:
    tonic -= (tonic - key.tonic_class) % 12
    found = fit(*phrase(key, tonic), key)
    assert 3 <= len(found) <= 5
    assert any(option.shift_semitones == 0 for option in found)
    assert len({(option.key, option.capo) for option in found}) == len(found)
    for option in found:
        assert 3 <= len(option.reasons) <= 4
        assert 0 <= option.capo <= FURTHEST_CAPO
    assert [option.score for option in found] == sorted((o.score for o in found), reverse=True)


@settings(max_examples=40, deadline=None)
@given(keys(), st.integers(40, 76))
def test_keys_are_what_music21_calls_them(key: Key, tonic: int) -> None:
    tonic -= (tonic - key.tonic_class) % 12
    theirs = music21.key.Key(key.name.rstrip("m").replace("b", "-"), key.mode.value)
    for option in fit(*phrase(key, tonic), key):
        moved = theirs.transpose(option.shift_semitones)
        assert (option.key.tonic_class, option.key.mode.value) == (moved.tonic.pitchClass, moved.mode)
        shape = moved.transpose(-option.capo)
        assert option.shape.tonic_class == shape.tonic.pitchClass


@settings(max_examples=40, deadline=None)
@given(keys(), st.integers(40, 76))
def test_open_roots_are_open_strings_of_the_handbook(key: Key, tonic: int) -> None:
    tonic -= (tonic - key.tonic_class) % 12
    for option in fit(*phrase(key, tonic), key):
        opens = {(midi + option.capo) % 12 for midi in HANDBOOK.values()}
        roots = {(option.key.tonic_class + step) % 12 for step in (0, 5, 7)}
        assert len(option.open_roots) == len(opens & roots)


@settings(max_examples=40, deadline=None)
@given(keys(), st.integers(36, 90))
def test_in_the_best_key_whole_lines_lie_on_the_guitar(key: Key, tonic: int) -> None:
    tonic -= (tonic - key.tonic_class) % 12
    tune, bass = phrase(key, tonic)
    best = fit(tune, bass, key)[0]
    lows = [note.midi + best.shift_semitones + 12 * best.bass_octaves for note in bass]
    highs = [note.midi + best.shift_semitones + 12 * best.melody_octaves for note in tune]
    assert min(lows) >= 40 + best.capo
    assert max(highs) <= 64 + best.capo + MOST_FRETS
    assert best.highest_fret == max(highs) - best.capo - 64
    assert sum(highs) / len(highs) > sum(lows) / len(lows)


def test_a_tune_alone_is_enough() -> None:
    key = Key.parse("F#m")
    found = fit(phrase(key, 66)[0], None, key)
    assert found[0].shape.name in {"Am", "Em", "Dm"}
    assert fit(None, None, key)[0].open_roots


@pytest.mark.parametrize(("name", "word"), [("A", "All three"), ("F#", "None")])
def test_the_reason_tells_the_open_strings(name: str, word: str) -> None:
    as_it_is = next(
        (o for o in options(name, 57 if name == "A" else 54) if o.shift_semitones == o.capo == 0), None
    )
    if as_it_is is not None:
        assert as_it_is.reasons[0].startswith(word)
