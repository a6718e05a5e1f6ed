"""Engines and tracker on tones of known frequency, and on the frame grid of the contract."""

from importlib.util import find_spec

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.errors import MissingPartError
from coach.hearing import engines
from coach.hearing.engines import Estimate, PitchEngine, available_engines, engine_named
from coach.hearing.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, F0Frame
from coach.hearing.tracker import PitchTracker, Source
from coach.music.tuning_system import cents_between, midi_to_hz
from tests import synth

CENTS = 25.0
"""A quarter of a semitone: half of the 50 cents within which MIREX and mir_eval count a pitch as right."""


@pytest.fixture(scope="module", params=["neural", "yin"])
def engine(request: pytest.FixtureRequest) -> PitchEngine:
    return engine_named(request.param)


def tracked(engine: PitchEngine, samples: np.ndarray, source: Source = "any") -> tuple[F0Frame, ...]:
    tracker = PitchTracker(engine, source)
    frames = [f for i in range(0, len(samples), 160) for f in tracker.push(samples[i : i + 160])]
    return (*frames, *tracker.flush())


class CountingEngine:
    """Hears the same sure pitch in every frame, and notes how many were asked for at once."""

    name = "counting"
    past_frames = 2
    future_frames = 2
    voiced_from = 0.3

    def __init__(self) -> None:
        self.asked: list[int] = []

    def estimate(self, window: NDArray[np.float32]) -> tuple[Estimate, ...]:
        self.asked.append(len(window) // FRAME_SAMPLES - self.past_frames - self.future_frames)
        return (Estimate(196.0, 0.95),) * self.asked[-1]


@pytest.mark.parametrize("midi", [38, 40, 45, 52, 59, 64, 71, 76, 83, 88])
def test_plucks_over_the_whole_neck(engine: PitchEngine, midi: int) -> None:
    true_hz = midi_to_hz(midi)
    frames = tracked(engine, synth.pluck(true_hz, 0.6, rate_hz=RATE_HZ), "guitar")
    inner = [frame for frame in frames if 0.1 < frame.time_s < 0.4]
    assert all(frame.voiced for frame in inner)
    off = [abs(cents_between(true_hz, frame.f0_hz or 1.0)) for frame in inner]
    assert np.median(off) < CENTS


@pytest.mark.parametrize("midi", [38, 45, 57, 69, 81])
def test_sung_tones(engine: PitchEngine, midi: int) -> None:
    true_hz = midi_to_hz(midi)
    frames = tracked(engine, synth.voice(true_hz, 0.6, rate_hz=RATE_HZ, vibrato_cents=0.0), "voice")
    off = [abs(cents_between(true_hz, f.f0_hz or 1.0)) for f in frames if 0.15 < f.time_s < 0.45]
    assert np.median(off) < CENTS


def test_frames_lie_on_their_grid_and_come_when_their_look_ahead_is_there(engine: PitchEngine) -> None:
    frames = tracked(engine, synth.pluck(196.0, 0.5, rate_hz=RATE_HZ))
    assert [frame.time_s for frame in frames] == pytest.approx([i * FRAME_S for i in range(len(frames))])
    assert len(frames) >= 0.5 / FRAME_S
    needed_s = (1 + engine.future_frames) * FRAME_SAMPLES / RATE_HZ
    waited_s = [frame.decided_s - frame.time_s - needed_s for frame in frames[:-4]]
    assert min(waited_s) > -1e-9
    assert max(waited_s[:10]) < 0.0101  # while the note is young: no more than a block
    assert max(waited_s) < 0.0101 + 2 * FRAME_S


@pytest.mark.parametrize(("source", "most"), [("guitar", 4), ("voice", 3), ("any", 3)])
def test_frames_of_one_long_note_come_together_and_singly_once_another_begins(
    source: Source, most: int
) -> None:
    engine = CountingEngine()
    tracker = PitchTracker(engine, source)
    note = synth.pluck(196.0, 1.2, rate_hz=RATE_HZ)
    for first in range(0, len(note), 160):
        tracker.push(note[first : first + 160])
    assert set(engine.asked[:8]) == {1}
    assert set(engine.asked[-5:]) == {most}
    engine.asked.clear()
    louder = synth.pluck(262.0, 0.3, rate_hz=RATE_HZ)
    for first in range(0, len(louder), 160):
        tracker.push(louder[first : first + 160])
    assert engine.asked.count(1) >= 8


def test_silence_is_unvoiced(engine: PitchEngine) -> None:
    frames = tracked(engine, np.zeros(8_000, np.float32))
    assert all(not frame.voiced and frame.f0_hz is None and frame.confidence == 0.0 for frame in frames)


def test_a_quiet_microphone_hears_as_well(engine: PitchEngine) -> None:
    soft = synth.pluck(110.0, 0.6, rate_hz=RATE_HZ, level=0.004)
    frames = [frame for frame in tracked(engine, soft) if 0.1 < frame.time_s < 0.3]
    assert all(frame.voiced and abs(cents_between(110.0, frame.f0_hz or 1.0)) < CENTS for frame in frames)


def test_a_voice_is_not_heard_above_its_range(engine: PitchEngine) -> None:
    frames = tracked(engine, synth.pluck(1_390.0, 0.3, rate_hz=RATE_HZ), "voice")
    assert not any(frame.voiced and (frame.f0_hz or 0.0) > 1_260.0 for frame in frames)


def test_what_is_missing_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engines, "find_spec", lambda _: None)
    assert [state.usable for state in available_engines()] == [False, False]
    for name, package in (("neural", "onnxruntime"), ("yin", "aubio"), ("auto", "aubio")):
        with pytest.raises(MissingPartError, match=package):
            engine_named(name)
    with pytest.raises(ValueError, match="no such engine"):
        engine_named("ears")


def test_auto_takes_the_better_engine_that_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    assert engine_named("auto").name == "neural"
    monkeypatch.setattr(engines, "find_spec", lambda name: None if name == "onnxruntime" else find_spec(name))
    assert engine_named("auto").name == "yin"
