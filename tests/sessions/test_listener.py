from collections.abc import Iterator
from random import Random

import numpy as np
import pytest

from coach.hearing.engines import engine_named
from coach.sessions.deafness import TAIL_S, Deafness
from coach.sessions.listener import Hearing, Listener
from coach.tones.learner import EXACT, plucked
from coach.tones.prompt import PromptNote
from tests.fake_sound import ScriptedInput, SilentOutput, SteppedClock
from tests.fakes import FakeClock, FakeInput, FakeOutput

ROUND_TRIP_S = 0.1


class Room:
    """A listener with its scripted world."""

    def __init__(self, *, headphones: bool = False) -> None:
        self.clock = SteppedClock()
        self.microphone = ScriptedInput(self.clock)
        self.output = SilentOutput(self.clock)
        self.deafness = Deafness(self.output, self.clock, headphones, ROUND_TRIP_S)
        self.listener = Listener(
            self.microphone, engine_named("auto"), self.deafness, self.clock, source="guitar"
        )
        self.heard: list[Hearing] = []
        self.listener.subscribe(self.heard.append)
        self.listener.open()

    def pluck(self, *midis: int) -> None:
        notes = [PromptNote(midi, 0.2 + i * 0.8, 0.9 + i * 0.8) for i, midi in enumerate(midis)]
        self.microphone.say(plucked(notes, self.microphone.rate_hz, Random(3), manner=EXACT))

    def let_pass(self, seconds: float) -> None:
        until_s = self.clock.steady_s() + seconds
        while self.clock.steady_s() < until_s:
            self.listener.step()

    @property
    def notes(self) -> list[int]:
        return [note.midi for hearing in self.heard for note in hearing.chunk.notes]


@pytest.fixture
def room() -> Iterator[Room]:
    room = Room()
    yield room
    room.listener.stop()


def test_a_phrase_is_heard_note_for_note(room: Room) -> None:
    room.pluck(40, 52, 55, 64)
    room.let_pass(4.5)
    assert room.notes == [40, 52, 55, 64]


def test_ear_time_counts_captured_samples(room: Room) -> None:
    room.let_pass(1.0)
    assert room.listener.heard_s == pytest.approx(1.0, abs=0.011)
    assert room.heard[-1].at_s == room.listener.heard_s


def test_bleed_from_the_loudspeaker_is_never_heard_as_the_player(room: Room) -> None:
    room.output.play(np.zeros(48000 * 3, np.float32), 48000)
    room.pluck(52, 55)  # what sounds on the loudspeaker comes back into the microphone
    room.let_pass(2.9)
    assert room.listener.deaf
    assert room.notes == []
    assert all(frame.f0_hz is None for frame in room.listener.frames_since(0.0))


def test_the_ear_opens_when_sound_and_round_trip_are_over(room: Room) -> None:
    room.output.play(np.zeros(48000, np.float32), 48000)
    room.let_pass(1.0 + ROUND_TRIP_S + TAIL_S - 0.03)
    assert room.listener.deaf
    room.let_pass(0.06)
    assert not room.listener.deaf
    room.pluck(57)
    room.let_pass(1.5)
    assert room.notes == [57]


def test_with_headphones_the_ear_is_always_open() -> None:
    room = Room(headphones=True)
    room.output.play(np.zeros(48000 * 9, np.float32), 48000, loop=True)
    room.pluck(57)
    room.let_pass(1.5)
    assert room.notes == [57]


def test_an_overrun_does_not_shift_ear_time(room: Room) -> None:
    room.let_pass(0.5)
    room.microphone.taken += 24000  # half a second was lost
    room.let_pass(0.5)
    assert room.listener.heard_s == pytest.approx(1.5, abs=0.021)


def test_turning_to_another_source_begins_a_new_time(room: Room) -> None:
    room.pluck(52)
    room.let_pass(1.2)
    room.listener.attend("voice")
    assert room.listener.heard_s == 0.0
    assert room.listener.frames_since(0.0) == ()


def test_the_level_is_read_while_deaf_too(room: Room) -> None:
    room.output.play(np.zeros(48000 * 2, np.float32), 48000)
    room.pluck(52)
    room.let_pass(0.6)
    assert room.listener.level is not None
    assert room.listener.level.now_db > -40.0


def test_a_held_up_listener_takes_no_bleed_for_the_player() -> None:
    """Nobody listened while a tune sounded on the loudspeaker; all of it is taken in at once afterwards."""
    clock = FakeClock()
    microphone, output = FakeInput(48_000, clock), FakeOutput(48_000, clock)
    deafness = Deafness(output, clock, round_trip_s=ROUND_TRIP_S)
    listener = Listener(microphone, engine_named("auto"), deafness, clock, source="guitar")
    heard: list[Hearing] = []
    listener.subscribe(heard.append)
    listener.open()
    tune = plucked(
        [PromptNote(m, 0.2 + i * 0.6, 0.7 + i * 0.6) for i, m in enumerate((52, 55, 57))], 48_000, Random(2)
    )
    output.open()
    output.play(tune, 48_000)
    assert deafness.closed()
    clock.sleep(len(tune) / 48_000 + 0.6)  # held up: the tune is over, and its round trip, too
    microphone.feed(np.concatenate([tune, np.zeros(round(0.6 * 48_000), np.float32)]))
    listener.step()
    assert all(frame.f0_hz is None for frame in listener.frames_since(0.0))
    assert [note for each in heard for note in each.chunk.notes] == []
    clock.sleep(1.0)
    microphone.feed(np.zeros(48_000, np.float32))
    listener.step()
    clock.sleep(1.5)
    microphone.feed(plucked([PromptNote(55, 0.3, 1.2)], 48_000, Random(4), manner=EXACT))
    listener.step()
    assert [note.midi for each in heard for note in each.chunk.notes] == [55]
    listener.stop()
