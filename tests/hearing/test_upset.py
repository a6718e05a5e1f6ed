"""A string that is struck again more softly than it still rings; a noise beside it is no note."""

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.hearing.engines import NeuralEngine
from coach.hearing.frames import RATE_HZ
from coach.hearing.listening import listen
from coach.hearing.notes.memory import SoundMemory
from coach.hearing.notes.upset import Upset, upset
from coach.music.tuning_system import A4_HZ, midi_to_hz
from tests import synth

AGAIN_S = 0.9
SOFTER = 0.3
"""10 dB under the first: a change from forte to piano (common practice, no source)."""
DAMPED_S = 0.03
"""So quickly the finger that plucks it again stops a string (from memory)."""
ONSET_S = 0.05
"""mir_eval.transcription's own tolerance of onsets."""


def struck_twice(midi: float) -> NDArray[np.float32]:
    """A string plucked near the bridge, and more softly over the sound hole while it still rings."""
    f0_hz = midi_to_hz(midi, A4_HZ)
    first = synth.pluck(f0_hz, AGAIN_S - 0.3, rate_hz=RATE_HZ, place=0.1, level=0.4)
    stop = round(DAMPED_S * RATE_HZ)
    first[-stop:] *= np.linspace(1.0, 0.0, stop, dtype=np.float32)
    second = synth.pluck(f0_hz, 1.0, rate_hz=RATE_HZ, place=0.27, level=0.4 * SOFTER)
    return synth.place([(0.3, first), (AGAIN_S, second)], 2.2, rate_hz=RATE_HZ)


def knocked(midi: float) -> NDArray[np.float32]:
    """A string that rings on while the guitar's body is tapped."""
    string = synth.pluck(midi_to_hz(midi, A4_HZ), 1.8, rate_hz=RATE_HZ, level=0.4)
    tap = synth.tap(rate_hz=RATE_HZ, level=0.4 * SOFTER)
    return synth.place([(0.3, string), (AGAIN_S, tap)], 2.2, rate_hz=RATE_HZ)


@pytest.fixture(scope="module")
def engine() -> NeuralEngine:
    return NeuralEngine()


@pytest.mark.parametrize("midi", [45, 52, 57, 64, 68])
def test_a_string_struck_again_softly_is_heard(engine: NeuralEngine, midi: int) -> None:
    notes = listen(struck_twice(midi), RATE_HZ, engine=engine, source="guitar").notes
    assert [note.midi for note in notes] == [midi, midi]
    assert abs(notes[1].span.start_s - AGAIN_S) <= ONSET_S


@pytest.mark.parametrize("midi", [45, 52, 57, 64, 68])
def test_a_tap_beside_a_ringing_string_is_no_note(engine: NeuralEngine, midi: int) -> None:
    notes = listen(knocked(midi), RATE_HZ, engine=engine, source="guitar").notes
    assert [note.midi for note in notes] == [midi]


@pytest.mark.parametrize("midi", [45, 57, 68])
def test_a_tap_leaves_partials_alone_and_a_pluck_does_not(midi: int) -> None:
    def measured(sound: NDArray[np.float32]) -> Upset | None:
        memory = SoundMemory(A4_HZ)
        memory.push(sound[: round((AGAIN_S + 0.1) * RATE_HZ)])
        return upset(memory, midi_to_hz(midi, A4_HZ), AGAIN_S)

    plucked, tapped = measured(struck_twice(midi)), measured(knocked(midi))
    assert plucked is not None
    assert tapped is not None
    assert plucked.struck_again(0.2)
    assert not tapped.struck_again(0.2)


def test_nothing_is_told_before_enough_was_heard() -> None:
    memory = SoundMemory(A4_HZ)
    memory.push(struck_twice(57)[: round((AGAIN_S + 0.08) * RATE_HZ)])
    assert upset(memory, midi_to_hz(57, A4_HZ), AGAIN_S) is None
