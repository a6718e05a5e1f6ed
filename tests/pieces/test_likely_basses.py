"""Likely bass notes against music21's scales (an outside reference for the degrees of a key)."""

import pytest
from music21 import key as reference

from coach.music import Key
from coach.pieces.likely_basses import MAIN_DEGREES, likely_basses

STANDARD = (40, 45, 50, 55, 59, 64)


@pytest.mark.parametrize("name", ["C", "G", "D", "A", "E", "F", "Bb", "Am", "Em", "Dm"])
@pytest.mark.parametrize("capo", [0, 2])
def test_degrees_are_those_of_the_key_and_lie_low(name: str, capo: int) -> None:
    tonic, minor = name.rstrip("m"), name.endswith("m")
    scale = reference.Key(tonic.replace("b", "-"), "minor" if minor else "major")
    found = likely_basses(Key.parse(name), STANDARD, capo)
    assert [each.degree for each in found[:3]] == list(MAIN_DEGREES)
    assert {each.degree for each in found} == set(range(1, 8))
    for each in found:
        assert each.pitch.pitch_class == scale.pitchFromDegree(each.degree).pitchClass
        assert 40 + capo <= each.pitch.midi < 52 + capo
