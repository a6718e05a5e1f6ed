"""Typed names against the tables of names: English, fixed do (ISO 16 keeps A; solfège by common practice),
German with H (common practice, no source)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import NoteNameError
from coach.music import Pitch
from coach.music.naming import Naming, screen_name
from coach.music.typed import TypedNote, typed_note

GERMAN = {
    "C": ("C", 0), "Cis": ("C", 1), "Des": ("D", -1), "D": ("D", 0), "Dis": ("D", 1), "Es": ("E", -1),
    "E": ("E", 0), "F": ("F", 0), "Fis": ("F", 1), "Ges": ("G", -1), "G": ("G", 0), "Gis": ("G", 1),
    "As": ("A", -1), "A": ("A", 0), "Ais": ("A", 1), "B": ("B", -1), "H": ("B", 0), "Eses": ("E", -2),
    "Fisis": ("F", 2), "Heses": ("B", -2),
}  # fmt: skip
"""From memory: the names as German schools teach them; B is the note a semitone below H."""
letters, alters = st.sampled_from("CDEFGAB"), st.integers(-2, 2)


@given(letters, alters, st.integers(0, 8), st.sampled_from(Naming))
def test_every_name_shown_can_be_typed(letter: str, alter: int, octave: int, naming: Naming) -> None:
    shown = screen_name(Pitch(letter, alter, octave), naming)
    assert typed_note(shown, naming) == TypedNote(letter, alter)
    assert typed_note(f" {shown}{octave} ", naming) == TypedNote(letter, alter, octave)


@pytest.mark.parametrize("typed", GERMAN)
def test_german_names(typed: str) -> None:
    assert typed_note(typed, Naming.GERMAN) == TypedNote(*GERMAN[typed])
    assert typed_note(typed.lower(), Naming.GERMAN) == TypedNote(*GERMAN[typed])


def test_b_is_another_note_in_german() -> None:
    assert typed_note("b").alter == 0
    assert typed_note("b", Naming.GERMAN).pitch_near(60).midi == 58
    assert typed_note("h", Naming.GERMAN).pitch_near(60).midi == 59


@pytest.mark.parametrize(
    ("text", "naming"),
    [("H", Naming.ENGLISH), ("", Naming.ENGLISH), ("Ees", Naming.GERMAN), ("Bes", Naming.GERMAN),
     ("Fs", Naming.GERMAN), ("C", Naming.SOLFEGE), ("F#9.5", Naming.ENGLISH), ("ut", Naming.SOLFEGE)],
)  # fmt: skip
def test_what_is_no_name_is_refused_with_an_example(text: str, naming: Naming) -> None:
    with pytest.raises(NoteNameError, match="write"):
        typed_note(text, naming)


@given(letters, st.integers(-1, 1), st.integers(20, 100))
def test_without_an_octave_the_nearest_is_meant(letter: str, alter: int, last: int) -> None:
    near = typed_note(Pitch(letter, alter, 4).name[:-1]).pitch_near(last)
    assert abs(near.midi - last) <= 6
    assert near.pitch_class == Pitch(letter, alter, 4).pitch_class
