"""The whole ear on computed sound: notes, their times, and their early decision."""

import numpy as np
import pytest

from coach.hearing.engines import PitchEngine, engine_named
from coach.hearing.listening import PlayerEar, listen
from coach.music.tuning_system import midi_to_hz
from tests import synth

ONSET_S = 0.05
"""MIREX note tracking and mir_eval.transcription: an onset is right within 50 ms."""
DECIDED_S = 0.25


@pytest.fixture(scope="module", params=["neural", "yin"])
def engine(request: pytest.FixtureRequest) -> PitchEngine:
    return engine_named(request.param)


def test_plucked_notes_are_heard_once_each_with_octave_and_time(engine: PitchEngine) -> None:
    midis = [40, 45, 52, 57, 64, 69, 76]
    starts = [0.4 + 0.6 * i for i in range(len(midis))]
    parts = [(s, synth.pluck(midi_to_hz(m), 0.55)) for s, m in zip(starts, midis, strict=True)]
    heard = listen(synth.place(parts, 5.0), synth.RATE_HZ, engine=engine, source="guitar")
    assert [note.midi for note in heard.notes] == midis
    for note, start_s in zip(heard.notes, starts, strict=True):
        assert abs(note.span.start_s - start_s) <= ONSET_S
        assert note.decided_s - start_s <= DECIDED_S


def test_silence_holds_no_notes(engine: PitchEngine) -> None:
    assert listen(np.zeros(48_000, np.float32), 48_000, engine=engine).notes == ()


@pytest.mark.parametrize("lead_s", [0.0, 4.0])
def test_a_machine_that_was_held_up_hears_the_same_notes(engine: PitchEngine, lead_s: float) -> None:
    """All at once, as after a stall; what came before may have been a gap filled with silence."""
    midis, starts = [52, 57, 55], [0.4, 1.0, 1.6]
    parts = [(s, synth.pluck(midi_to_hz(m), 0.55)) for s, m in zip(starts, midis, strict=True)]
    sound = np.concatenate([np.zeros(round(lead_s * synth.RATE_HZ), np.float32), synth.place(parts, 3.0)])
    ear = PlayerEar(synth.RATE_HZ, engine, source="guitar")
    notes = (*ear.push(sound).notes, *ear.flush().notes)
    assert [note.midi for note in notes] == midis
    for note, start_s in zip(notes, starts, strict=True):
        assert abs(note.span.start_s - lead_s - start_s) <= ONSET_S
