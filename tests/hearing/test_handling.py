"""Handling noises are no notes: what the first 60 ms claim is withdrawn before it is judged."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from coach.hearing.engines import NeuralEngine
from coach.hearing.events import NoteBegan, NoteEnded, NoteEvent, NoteWithdrawn
from coach.hearing.listening import PlayerEar
from coach.hearing.tracker import Source
from tests import synth

RATE_HZ = 16_000
MOST_PER_SOUND = 0.1
"""Of thirty such sounds three may still pass for a note; before the second look a third of them did."""
JUDGED_S = 0.2
"""A plucked answer is judged when its last note has sounded for so long."""


@pytest.fixture(scope="module")
def engine() -> NeuralEngine:
    return NeuralEngine()


def knock(rng: np.random.Generator) -> NDArray[np.float32]:
    """A guitar's body or a table knocked: modes of the air and the top, quality 10 to 35 (from memory)."""
    time = np.arange(round(0.4 * RATE_HZ)) / RATE_HZ
    sound = np.zeros(len(time))
    for low_hz, high_hz, most in (
        (85, 125, 1.0),
        (170, 240, 1.0),
        (260, 330, 0.6),
        (350, 480, 0.5),
        (500, 800, 0.3),
    ):
        hz, quality = rng.uniform(low_hz, high_hz), rng.uniform(10, 35)
        sound += (
            most
            * rng.uniform(0.1, 1.0)
            * np.exp(-time * math.pi * hz / quality)
            * np.sin(math.tau * hz * time)
        )
    return np.asarray(sound * np.minimum(1.0, time / 0.003), np.float32)


def squeak(rng: np.random.Generator) -> NDArray[np.float32]:
    """A finger sliding along a wound string: a gliding whistle with its overtones in noise."""
    time = np.arange(round(rng.uniform(0.08, 0.3) * RATE_HZ)) / RATE_HZ
    length_s = time[-1]
    hz = rng.uniform(600, 2_000) * 2.0 ** (rng.uniform(-1, 1) * np.sin(math.pi * time / length_s))
    phase = math.tau * np.cumsum(hz) / RATE_HZ
    tone = sum(np.sin(number * phase) / number for number in (1, 2, 3))
    sound = (0.3 * tone + 0.1 * rng.standard_normal(len(time))) * np.sin(math.pi * time / length_s) ** 0.7
    return np.asarray(sound, np.float32)


def events_of(engine: NeuralEngine, sound: NDArray[np.float32], source: Source) -> list[NoteEvent]:
    ear = PlayerEar(RATE_HZ, engine, source=source)
    events: list[NoteEvent] = []
    for first in range(0, len(sound), 160):
        events += ear.push(sound[first : first + 160]).events
    return events + list(ear.flush().events)


@pytest.mark.parametrize("source", ["guitar", "any"])
@pytest.mark.parametrize("noise", [knock, squeak])
def test_knocks_and_squeaks_are_no_notes(engine: NeuralEngine, source: Source, noise: object) -> None:
    rng = np.random.default_rng(31)
    make = knock if noise is knock else squeak
    parts = []
    for number in range(30):
        sound = make(rng)
        level = 10 ** (rng.uniform(-30, -6) / 20)
        parts.append((0.3 + 0.5 * number, np.asarray(level * sound / np.abs(sound).max(), np.float32)))
    room = synth.place(parts, 15.6, rate_hz=RATE_HZ) + synth.pink_noise(15.6, rate_hz=RATE_HZ, rms=0.001)
    notes = [event for event in events_of(engine, room, source) if isinstance(event, NoteEnded)]
    assert len(notes) <= MOST_PER_SOUND * 30


def test_a_claim_is_withdrawn_before_it_is_judged(engine: NeuralEngine) -> None:
    time = np.arange(round(0.4 * RATE_HZ)) / RATE_HZ
    # A mode of 98 Hz whose neighbour is out of tune with it, and both gone after a fifth of a second.
    bump = np.exp(-time / 0.06) * (np.sin(math.tau * 98 * time) + 0.5 * np.sin(math.tau * 205 * time))
    sound = synth.place([(0.5, np.asarray(0.2 * bump, np.float32))], 1.2, rate_hz=RATE_HZ)
    events = events_of(engine, sound, "guitar")
    assert not any(isinstance(event, NoteEnded) for event in events)
    for began, withdrawn in zip(events[::2], events[1::2], strict=True):
        assert isinstance(began, NoteBegan)
        assert isinstance(withdrawn, NoteWithdrawn)
        assert withdrawn.start_s == began.start_s
        assert withdrawn.decided_s - began.start_s <= JUDGED_S


@pytest.mark.parametrize("midi", [40, 45, 52, 57, 64, 76])
def test_short_and_restruck_strings_stay(engine: NeuralEngine, midi: int) -> None:
    hz = 440.0 * 2 ** ((midi - 69) / 12)
    parts = [(0.4, synth.pluck(hz, 0.16, rate_hz=RATE_HZ))]
    parts += [
        (0.9 + 0.5 * i, synth.pluck(hz, 0.48, rate_hz=RATE_HZ, level=level))
        for i, level in enumerate((0.3, 0.2))
    ]
    events = events_of(engine, synth.place(parts, 2.4, rate_hz=RATE_HZ), "guitar")
    assert [event.note.midi for event in events if isinstance(event, NoteEnded)] == [midi] * 3
    assert not any(isinstance(event, NoteWithdrawn) for event in events)
