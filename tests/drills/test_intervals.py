"""Interval names and sizes against music21."""

import pytest
from music21 import interval as reference

from coach.drills.answers import one_spelling
from coach.drills.items import above, interval_named, interval_names, interval_of_semitones
from coach.music import Pitch


@pytest.mark.parametrize("name", interval_names())
def test_names_and_sizes_are_music21s(name: str) -> None:
    theirs = reference.Interval(name)
    ours = interval_named(name)
    assert ours.semitones == theirs.semitones
    assert ours.short_name == theirs.name
    if ours.number <= 8:
        assert ours.name == theirs.niceName.lower()


@pytest.mark.parametrize("name", interval_names()[1:])
@pytest.mark.parametrize("start", ["C4", "F#3", "Bb4"])
def test_notes_above_and_below_are_music21s(name: str, start: str) -> None:
    theirs_up = reference.transposePitch(_theirs(start), name)
    theirs_down = reference.transposePitch(_theirs(start), f"-{name}")
    assert above(Pitch.parse(start), name, up=True).name == theirs_up.nameWithOctave.replace("-", "b")
    assert above(Pitch.parse(start), name, up=False).name == theirs_down.nameWithOctave.replace("-", "b")


def _theirs(name: str) -> object:
    from music21 import pitch  # noqa: PLC0415 - kept beside its only use

    return pitch.Pitch(name.replace("b", "-"))


def test_every_size_has_its_usual_name() -> None:
    for semitones in range(17):
        assert interval_of_semitones(semitones).semitones == semitones


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("M3", "M3"),
        ("major third", "M3"),
        ("Major  Third", "M3"),
        ("4 frets", "M3"),
        ("4", "M3"),
        ("1 fret", "m2"),
        ("tritone", "A4"),
        ("d5", "A4"),
        ("diminished fifth", "A4"),
        ("augmented fourth", "A4"),
        ("perfect octave", "P8"),
        ("Higher", "higher"),
    ],
)
def test_all_ways_to_write_an_interval_are_read(written: str, read: str) -> None:
    assert one_spelling(written) == read


def test_no_such_interval() -> None:
    with pytest.raises(ValueError, match="no such interval"):
        interval_named("X9")
