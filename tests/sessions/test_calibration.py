"""The sound's way is measured on what the app sounds, anew after every opening, and never by itself wrong."""

import numpy as np
import pytest

from coach.audio.limiter import LOOK_AHEAD_S
from coach.hearing.roundtrip import MOST_SPREAD_S, find_sound
from coach.practice.events import Calibrated
from coach.practice.settings import Settings
from coach.sessions.deafness import DEFAULT_ROUND_TRIP_S
from coach.sessions.ports import StreamState
from coach.sessions.studio import WayKnown
from coach.tones.prompt import PromptNote, Timbre
from coach.tones.rendering import render
from tests import synth
from tests.echo_room import EchoRoom
from tests.fakes import MemoryLog

RATE_HZ = 48_000
NEAR_S = 0.010 + LOOK_AHEAD_S
"""The fake output mixes in blocks of 10 ms, and its limiter looks ahead."""


def a_prompt(*midis: int) -> np.ndarray:
    notes = [PromptNote(midi, 0.5 * i, 0.5 * i + 0.45) for i, midi in enumerate(midis)]
    return render(notes, Timbre.PLUCK, RATE_HZ, a4_hz=440.0, clicks=(), length_s=0.5 * len(midis))


def ask(room: EchoRoom, times: int, *, answer_s: float = 1.2) -> None:
    for number in range(times):
        room.output.play(a_prompt(52 + number, 57, 55), RATE_HZ)
        room.let_pass(1.5 + answer_s)


def logged(room: EchoRoom) -> list[float]:
    return [each.event.round_trip_ms for each in room.log.logged if isinstance(each.event, Calibrated)]


@pytest.mark.parametrize("delay_s", [0.05, 0.31])
def test_three_prompts_tell_the_way_without_a_sound_of_its_own(delay_s: float) -> None:
    room = EchoRoom(delay_s)
    assert room.studio.way == (DEFAULT_ROUND_TRIP_S, WayKnown.ALLOWED)
    room.let_pass(1.0)
    assert not room.output.heard.any()
    ask(room, 3)
    way_s, known = room.studio.way
    assert known is WayKnown.MEASURED
    assert way_s == pytest.approx(delay_s, abs=NEAR_S)
    assert room.studio.deafness.round_trip_s == way_s
    assert logged(room) == [pytest.approx(1000 * way_s, abs=0.1)]


def test_it_is_measured_anew_when_a_device_was_opened_again() -> None:
    room = EchoRoom(0.05)
    ask(room, 3)
    room.output.state_now = StreamState.LOST
    room.let_pass(0.1)
    room.output.state_now = StreamState.RUNNING
    room.microphone.delay_s = 0.12
    room.let_pass(0.1)
    assert room.studio.calibration.way_s is None
    ask(room, 4)
    assert room.studio.way[0] == pytest.approx(0.12, abs=NEAR_S)
    room.microphone.lost += 4_800  # the microphone's numbers jump when it comes back
    room.microphone.delay_s = 0.2
    ask(room, 4)
    assert room.studio.way[0] == pytest.approx(0.2, abs=NEAR_S)
    assert len(logged(room)) == 3


def test_what_spreads_is_measured_again() -> None:
    room = EchoRoom(0.05)
    for delay_s in (0.05, 0.05 + 4 * MOST_SPREAD_S, 0.05 + 8 * MOST_SPREAD_S):
        room.microphone.delay_s = delay_s
        ask(room, 1)
    assert room.studio.calibration.way_s is None
    ask(room, 2)
    assert room.studio.calibration.way_s == pytest.approx(0.05 + 8 * MOST_SPREAD_S, abs=NEAR_S)


def test_the_last_way_of_the_same_devices_is_where_it_begins() -> None:
    log = MemoryLog()
    first = EchoRoom(0.05, log=log)
    ask(first, 3)
    second = EchoRoom(0.06, log=log)
    way_s, known = second.studio.way
    assert known is WayKnown.KEPT
    assert way_s == pytest.approx(0.05, abs=NEAR_S)


@pytest.mark.parametrize("settings", [Settings(measures_way=False), Settings(headphones=True)])
def test_it_can_be_switched_off_and_rests_with_headphones(settings: Settings) -> None:
    room = EchoRoom(0.05, settings)
    ask(room, 4)
    assert room.studio.calibration.way_s is None
    assert logged(room) == []


def test_a_microphone_that_does_not_hear_it_tells_nothing() -> None:
    room = EchoRoom(0.05)
    room.microphone.noise = synth.pluck(247.0, 5.0, level=0.2)  # the player plays meanwhile
    room.output.set_volume(-90.0)
    ask(room, 4)
    assert room.studio.calibration.way_s is None


@pytest.mark.parametrize("below_db", [20.0, 0.0])
def test_a_sound_is_found_in_noise_and_a_steady_tone_is_not_judged(below_db: float) -> None:
    rate_hz, late = 16_000, 1_360
    played = np.asarray(a_prompt(50, 53, 57)[::3], np.float32)
    captured = np.concatenate([np.zeros(late, np.float32), played, np.zeros(11_200 - late, np.float32)])
    rms = float(np.sqrt(np.mean(played**2))) * 10 ** (-below_db / 20)
    captured = captured + synth.pink_noise(len(captured) / rate_hz, rate_hz=rate_hz, rms=rms)
    found = find_sound(captured, played, rate_hz)
    assert found is not None
    assert found.delay_s == pytest.approx(late / rate_hz, abs=0.001)
    tone = np.asarray(0.2 * np.sin(2 * np.pi * 220 * np.arange(40_000) / rate_hz), np.float32)
    assert find_sound(tone[:36_000], tone[500:24_500], rate_hz) is None
    assert find_sound(synth.pink_noise(2.0, rate_hz=rate_hz), played, rate_hz) is None
