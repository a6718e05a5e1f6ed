import math

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import NoteNameError
from coach.music import Interval, Key, Mode, Pitch
from coach.music.naming import Naming, screen_name
from coach.music.tuning_system import cents_between, hz_to_midi, midi_to_hz

M21_SIGNS = {-2: "--", -1: "-", 0: "", 1: "#", 2: "##"}
PITCHES = st.builds(Pitch, st.sampled_from("CDEFGAB"), st.integers(-2, 2), st.integers(0, 8))

# Equal-tempered frequencies for A4 = 440 Hz, printed to two decimals in handbooks of acoustics and musical
# instruments (octave-by-octave tables); the values follow from f = 440 * 2^((n - 49)/12) for piano key n.
HANDBOOK_HZ = {
    "A0": 27.50, "E2": 82.41, "A2": 110.00, "D3": 146.83, "G3": 196.00, "B3": 246.94, "C4": 261.63,
    "E4": 329.63, "F#4": 369.99, "A4": 440.00, "C5": 523.25, "E6": 1318.51, "C8": 4186.01,
}  # fmt: skip
# MIDI 1.0 (MMA): note 60 is middle C, 69 is A4; General MIDI names 21 and 108 as the ends of the piano.
MIDI_1_0 = {"C4": 60, "A4": 69, "A0": 21, "C8": 108, "Cb4": 59, "B#3": 60, "E2": 40}


def in_music21(pitch: Pitch) -> music21.pitch.Pitch:
    return music21.pitch.Pitch(f"{pitch.letter}{M21_SIGNS[pitch.alter]}{pitch.octave}")


@pytest.mark.parametrize(("name", "hz"), HANDBOOK_HZ.items())
def test_frequencies_agree_with_the_handbook_table(name: str, hz: float) -> None:
    assert Pitch.parse(name).hz() == pytest.approx(hz, abs=0.005)  # half a unit of the last printed digit


@pytest.mark.parametrize(("name", "midi"), MIDI_1_0.items())
def test_note_numbers_agree_with_midi_1_0(name: str, midi: int) -> None:
    assert Pitch.parse(name).midi == midi


def test_iso_16_gives_a4() -> None:
    assert Pitch("A", 0, 4).hz() == 440.0
    assert Pitch("A", 0, 4).hz(a4_hz=415.0) == 415.0


@given(st.floats(20, 5000), st.floats(415, 466))
def test_hz_and_midi_are_inverse(hz: float, a4_hz: float) -> None:
    assert midi_to_hz(hz_to_midi(hz, a4_hz), a4_hz) == pytest.approx(hz, rel=1e-12)


def test_an_octave_is_1200_cents_and_a_semitone_100() -> None:
    assert cents_between(220.0, 440.0) == pytest.approx(1200.0)
    assert cents_between(440.0, 440.0 * math.pow(2, 1 / 12)) == pytest.approx(100.0)


@given(PITCHES)
def test_spelling_agrees_with_music21(pitch: Pitch) -> None:
    other = in_music21(pitch)
    assert other.midi == pitch.midi
    assert other.diatonicNoteNum == pitch.steps + 1  # music21 counts from C0 = 1
    assert Pitch.parse(pitch.name) == pitch


@given(PITCHES, PITCHES)
def test_intervals_agree_with_music21(first: Pitch, second: Pitch) -> None:
    interval = Interval.between(first, second)
    other = music21.interval.Interval(in_music21(first), in_music21(second))
    assert other.semitones == interval.semitones
    if interval.steps == 0 and interval.semitones < 0:
        return  # music21 calls a falling chromatic unison diminished; for us it is an augmented one, falling
    try:
        name = interval.short_name
    except ValueError:
        return  # more than triply augmented or diminished: we have no name for it
    assert name == other.name


@given(PITCHES, PITCHES)
def test_an_interval_leads_back_to_its_pitch(first: Pitch, second: Pitch) -> None:
    assert Interval.between(first, second).above(first) == second


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("mode", Mode)
def test_keys_agree_with_music21(fifths: int, mode: Mode) -> None:
    key = Key.of_fifths(fifths, mode)
    other = music21.key.KeySignature(fifths).asKey(str(mode))
    assert other.tonic.name.replace("-", "b") == key.name.removesuffix("m")
    assert tuple(p.pitchClass for p in other.pitches[:7]) == key.scale_classes
    assert Key.parse(key.name) == key
    assert key.fifths == fifths
    for pitch in other.pitches[:7]:
        spelled = key.spell(pitch.midi)
        assert (spelled.letter, spelled.alter) == (pitch.step, int(pitch.alter))
        assert key.alter_of(spelled.letter) == spelled.alter


@given(st.sampled_from(range(-7, 8)), st.sampled_from(Mode), st.integers(0, 127))
def test_spelling_in_a_key_keeps_the_sound(fifths: int, mode: Mode, midi: int) -> None:
    assert Key.of_fifths(fifths, mode).spell(midi).midi == midi


@given(st.sampled_from(range(-7, 8)), st.sampled_from(Mode), st.integers(-11, 11))
def test_transposing_a_key_moves_its_tonic(fifths: int, mode: Mode, semitones: int) -> None:
    key = Key.of_fifths(fifths, mode)
    assert key.transposed(semitones).tonic_class == (key.tonic_class + semitones) % 12


def test_the_raised_seventh_of_minor_is_spelled_as_raised() -> None:
    assert Key.parse("Am").spell(68).name == "G#4"
    assert Key.parse("Dm").spell(61).name == "C#4"
    assert Key.parse("F#m").spell(65).name == "E#4"


@pytest.mark.parametrize("text", ["", "H4", "C", "C#", "Cbbb4", "c4", "C10", "128", "-1", "C4 D4", "４"])
def test_what_is_no_note_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(NoteNameError, match="E2, F#4"):
        Pitch.parse(text)


@pytest.mark.parametrize(
    ("text", "midi"), [("60", 60), ("0", 0), ("127", 127), ("Ex3", 54), ("E##3", 54), ("B♭3", 58), ("C-1", 0)]
)
def test_note_names_and_numbers(text: str, midi: int) -> None:
    assert Pitch.parse(text).midi == midi


# Common practice, no source: fixed-do syllables and the German H and B.
@pytest.mark.parametrize(
    ("name", "english", "solfege", "german"),
    [("B3", "B", "si", "H"), ("Bb3", "B♭", "si♭", "B"), ("F#4", "F♯", "fa♯", "Fis"),
     ("Eb4", "E♭", "mi♭", "Es"), ("Ab4", "A♭", "la♭", "As"), ("C4", "C", "do", "C"),
     ("Cb4", "C♭", "do♭", "Ces")],
)  # fmt: skip
def test_names_on_screen(name: str, english: str, solfege: str, german: str) -> None:
    pitch = Pitch.parse(name)
    assert screen_name(pitch, Naming.ENGLISH) == english
    assert screen_name(pitch, Naming.SOLFEGE) == solfege
    assert screen_name(pitch, Naming.GERMAN) == german
