"""Sung steps of a semitone without a break; what swings, wanders or glides is none."""

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.hearing.engines import NeuralEngine
from coach.hearing.frames import FRAME_S, PitchFrame
from coach.hearing.listening import listen
from coach.hearing.notes.legato import LegatoStep, LegatoSteps
from coach.music.tuning_system import midi_to_hz
from tests import synth

RATE_HZ = 16_000
ONSET_S, LATE_S = 0.05, 0.25
"""mir_eval.transcription and MIREX note tracking: 50 ms; the project's own bar for a right note: 250 ms."""
SECONDS = np.arange(0.0, 3.0, FRAME_S)
Pitches = NDArray[np.float64]


def steps_of(pitches: Pitches) -> list[LegatoStep]:
    """The steps in a pitch each 16 ms; NaN: none."""
    steps = LegatoSteps()
    heard = [
        PitchFrame(FRAME_S * i, None if np.isnan(pitch) else float(pitch), 0.9, FRAME_S * (i + 3))
        for i, pitch in enumerate(pitches)
    ]
    return [step for frame in heard if (step := steps.push(frame)) is not None]


def moved(by: float, takes_s: float, from_midi: float = 57.0) -> Pitches:
    return from_midi + np.interp(SECONDS, [1.0, 1.0 + takes_s], [0.0, by])


@pytest.mark.parametrize("by", [-1.0, -0.8, 0.8, 1.0, 2.0])
@pytest.mark.parametrize("takes_s", [0.02, 0.08, 0.16])
def test_a_step_is_found_once_and_where_the_middle_was_crossed(by: float, takes_s: float) -> None:
    (step,) = steps_of(moved(by, takes_s))
    assert step.pitch == pytest.approx(57.0 + by, abs=0.1)
    assert abs(step.start_s - (1.0 + takes_s / 2)) <= ONSET_S
    assert step.frames[-1].time_s - step.start_s <= LATE_S


@pytest.mark.parametrize("swings_hz", [4.0, 5.0, 6.0, 7.0])
def test_vibrato_is_no_step_however_wide_and_wherever_its_middle_lies(swings_hz: float) -> None:
    """4 to 7 Hz: Sundberg, The Science of the Singing Voice (1987), from memory."""
    for width in np.arange(0.2, 1.0, 0.08):
        for middle in np.arange(56.5, 57.5, 0.2):
            swing = width * np.sin(2 * np.pi * swings_hz * SECONDS)
            assert steps_of(middle + swing) == []
            dies_away = swing * np.clip(1.5 - SECONDS, 0.0, 1.0)
            assert steps_of(middle + dies_away) == []


def test_what_wanders_glides_or_stays_is_no_step() -> None:
    assert steps_of(moved(1.0, 0.6)) == []
    assert steps_of(57.0 + 0.5 * SECONDS) == []
    assert steps_of(moved(0.5, 0.05, 57.1)) == []
    assert steps_of(moved(0.8, 0.05, 56.6)) == []  # the same note, sung flat and then sharp
    assert steps_of(np.random.default_rng(1).normal(57.0, 0.1, len(SECONDS))) == []


def test_a_breath_between_makes_it_two_beginnings() -> None:
    pitches = moved(1.0, 0.02)
    pitches[60:66] = np.nan
    assert steps_of(pitches) == []


def test_a_sung_scale_in_semitones_is_heard_note_for_note() -> None:
    """Contiguous, 50 ms from each note to the next, as in a legato."""
    midis = [57, 58, 59, 58, 57, 56, 57]
    starts = 0.5 * np.arange(len(midis))
    time = np.arange(round(RATE_HZ * 0.5 * len(midis))) / RATE_HZ
    at = np.sort(np.concatenate([starts, starts[1:] - 0.05, [time[-1]]]))
    midi = np.interp(time, at, np.repeat(midis, 2))
    phase = 2 * np.pi * np.cumsum(midi_to_hz(0.0) * 2.0 ** (midi / 12.0)) / RATE_HZ
    tone = sum(np.sin(k * phase) / k**1.5 for k in range(1, 12)) * np.clip(time / 0.04, 0.0, 1.0)
    sound = synth.place([(0.3, np.asarray(0.1 * tone, np.float32))], time[-1] + 0.8, rate_hz=RATE_HZ)
    notes = listen(sound, RATE_HZ, engine=NeuralEngine(), source="voice").notes
    assert [note.midi for note in notes] == midis
    for note, start_s in zip(notes, starts + 0.3, strict=True):
        assert abs(note.span.start_s - start_s) <= ONSET_S
        assert note.decided_s - start_s <= LATE_S
