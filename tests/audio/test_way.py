"""Through PortAudio and a private PulseAudio: the way is measured after each opening, and after a loss."""

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from coach.bootstrap import make_services
from coach.hearing.roundtrip import MOST_SPREAD_S
from coach.practice.events import Calibrated
from coach.sessions.calibration import LONGEST_WAY_S
from coach.sessions.journal import Journal
from coach.sessions.ports import StreamState
from coach.sessions.studio import Studio, WayKnown
from coach.tones.prompt import PromptNote, Timbre
from coach.tones.rendering import render
from tests import pulse
from tests.fakes import MemoryLog
from tests.pulse import PrivatePulse

pytestmark = pytest.mark.device

PATIENCE_S = 40.0
TRIES = 4
"""Other programs may take the processor away, and the virtual way then changes."""


@pytest.fixture
def log() -> MemoryLog:
    return MemoryLog()


@pytest.fixture
def studio(virtual_devices: PrivatePulse, tmp_path: Path, log: MemoryLog) -> Iterator[Studio]:
    services = make_services(tmp_path)
    services.settings().save(replace(services.current_settings(), volume_db=-6.0))
    opened = Studio(services, Journal(log, services.clock))
    joint = virtual_devices.join()
    opened.open()
    yield opened
    opened.close()
    virtual_devices.part(joint)


def until(true: Callable[[], bool], meanwhile: Callable[[], None] = lambda: None) -> None:
    give_up_s = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < give_up_s, "it did not happen in time"
        meanwhile()
        time.sleep(0.02)


def states(studio: Studio) -> set[StreamState]:
    return {studio.listener.state} | ({studio.output.state} if studio.output else set())


def calibrations(log: MemoryLog) -> list[Calibrated]:
    return [each.event for each in log.logged if isinstance(each.event, Calibrated)]


def prompting(studio: Studio) -> None:
    """One prompt after another, as in a set of drills."""
    output = studio.output
    assert output is not None
    if studio.deafness.quiet():
        notes = [PromptNote(midi, 0.3 * i, 0.3 * i + 0.28) for i, midi in enumerate((57, 61, 64, 59))]
        output.play(
            render(notes, Timbre.PLUCK, output.rate_hz, a4_hz=440.0, clicks=(), length_s=1.2), output.rate_hz
        )
        time.sleep(0.5)


def test_prompts_tell_the_way_after_opening_and_after_a_loss(
    studio: Studio, virtual_devices: PrivatePulse, log: MemoryLog
) -> None:
    until(lambda: studio.way[1] is WayKnown.MEASURED, lambda: prompting(studio))
    first_s = studio.way[0]
    assert 0.02 < first_s < LONGEST_WAY_S
    ways_s = [first_s]
    for _ in range(TRIES):
        by_chirps_s = studio.calibrate()
        if by_chirps_s is not None and min(abs(by_chirps_s - each) for each in ways_s) <= 2 * MOST_SPREAD_S:
            break
        ways_s += [by_chirps_s] if by_chirps_s is not None else []
    else:
        pytest.fail(f"the chirps never agreed: {ways_s}")
    known = len(calibrations(log))
    for device in (pulse.MICROPHONE, pulse.SPEAKER):
        virtual_devices.unplug(device)
    until(lambda: states(studio) == {StreamState.LOST})
    for device in (pulse.MICROPHONE, pulse.SPEAKER):
        virtual_devices.plug_in(device)
    until(lambda: states(studio) == {StreamState.RUNNING})
    joint = virtual_devices.join()
    until(lambda: studio.calibration.way_s is None)
    until(lambda: studio.way[1] is WayKnown.MEASURED, lambda: prompting(studio))
    virtual_devices.part(joint)
    assert len(calibrations(log)) == known + 1
    assert {event.device for event in calibrations(log)} == {"default → default"}
