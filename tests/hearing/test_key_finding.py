"""Key finding against music21's implementation of the same profiles."""

import music21
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.hearing.evidence import analyse
from coach.hearing.key_finding import PROFILES, key_of_recording, key_of_weights
from coach.music.key import Key, Mode
from coach.music.tuning_system import midi_to_hz
from tests.synth import place, pluck

RATE_HZ = 22_050
SCALE = (60, 62, 64, 65, 67, 69, 71, 72, 67, 64, 60)


@pytest.mark.parametrize("mode", Mode)
def test_the_profiles_are_the_published_ones(mode: Mode) -> None:
    # Krumhansl and Kessler 1982 as music21 prints them.
    published = music21.analysis.discrete.KrumhanslKessler().getWeights(mode.value)
    assert PROFILES[mode] == pytest.approx(tuple(published), abs=0.005)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 20), min_size=12, max_size=12).filter(lambda w: len(set(w)) > 1))
def test_the_best_key_is_music21s_best(weights: list[int]) -> None:
    stream = music21.stream.Stream()
    for pitch_class, weight in enumerate(weights):
        if weight:
            stream.append(music21.note.Note(60 + pitch_class, quarterLength=weight))
    theirs = music21.analysis.discrete.KrumhanslKessler().getSolution(stream)
    ours = key_of_weights(weights)
    assert ours is not None
    if ours.lead > 0.01:  # music21 rounds its sums
        assert (ours.key.tonic_class, ours.key.mode.value) == (theirs.tonic.pitchClass, theirs.mode)


def test_equal_weights_have_no_key() -> None:
    assert key_of_weights([0.0] * 12) is None
    assert key_of_weights([3.0] * 12) is None
    with pytest.raises(ValueError, match="twelve"):
        key_of_weights([1.0])


@pytest.mark.parametrize(("shift", "cents", "key"), [(0, 0, "C"), (7, 0, "G"), (2, 25, "D"), (-2, -30, "Bb")])
def test_a_played_scale_is_in_its_key_whatever_its_tuning(shift: int, cents: int, key: str) -> None:
    notes = [
        (0.4 * k, pluck(midi_to_hz(midi + shift + cents / 100), 0.5, rate_hz=RATE_HZ))
        for k, midi in enumerate(SCALE)
    ]
    found = key_of_recording(analyse(place(notes, 5.0, rate_hz=RATE_HZ), RATE_HZ))
    assert found is not None
    assert found.key == Key.parse(key)


def test_silence_has_no_key() -> None:
    assert key_of_recording(analyse(np.zeros(22_050, np.float32), RATE_HZ)) is None
