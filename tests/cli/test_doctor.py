"""``coach doctor``: every part looked at, advice where it is needed, exit code 0 whatever it finds."""

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from coach.bootstrap import make_services
from coach.cli.commands import doctor
from coach.errors import DeviceError, MissingPartError
from coach.practice.events import Calibrated
from coach.sessions.journal import Journal
from coach.sessions.ports import DeviceCatalog, StreamState
from tests.command_line import coach
from tests.fakes import FakeCatalog, FakeClock, FakeInput, FakeOutput

TOPICS = {"sound system", "graphics", "fonts", "space", "data folder", "pitch engine neural"}


def checked(catalog: Callable[[], DeviceCatalog]) -> dict[str, doctor.Check]:
    return {check.name: check for check in doctor.sound_checks(catalog, FakeClock())}


def test_one_json_list_of_checks(tmp_path: Path) -> None:
    code, out = coach(tmp_path, "doctor", "--json")
    assert code == 0
    (line,) = out.splitlines()
    checks = json.loads(line)
    assert {check["name"] for check in checks} >= TOPICS
    for check in checks:
        assert list(check) == ["name", "works", "detail", "advice"]
        assert (check["advice"] is None) == check["works"]


def test_text_tells_what_to_do(tmp_path: Path) -> None:
    code, out = coach(tmp_path, "doctor")
    assert code == 0
    assert "fonts" in out


def test_working_devices() -> None:
    found = checked(FakeCatalog)
    assert all(check.works for check in found.values())
    assert set(found) == {"sound system", "output", "microphone", "latency"}


def test_no_sound_system_says_what_to_install() -> None:
    found = checked(lambda: FakeCatalog(broken="Install libportaudio2."))
    assert list(found) == ["sound system"]
    assert found["sound system"].advice == "Install libportaudio2."


def test_no_microphone() -> None:
    found = checked(lambda: FakeCatalog(microphone=FakeInput(missing=True)))
    assert found["output"].works
    assert not found["microphone"].works
    assert "plug" in (found["microphone"].advice or "")
    assert not found["latency"].works


class DeadOutput(FakeOutput):
    """Opens, and then nothing."""

    def open(self) -> None:
        self.state_now = StreamState.WAITING


def test_a_device_that_stays_dumb_is_told_and_closed() -> None:
    dead = DeadOutput()
    found = checked(lambda: FakeCatalog(speaker=dead))
    assert not found["output"].works
    assert dead.state is StreamState.CLOSED


class WirelessOutput(FakeOutput):
    latency_s = 0.4


def test_a_long_delay_advises_a_cable() -> None:
    found = checked(lambda: FakeCatalog(speaker=WirelessOutput()))
    assert "cable" in (found["latency"].advice or "")


@pytest.mark.parametrize(
    ("environment", "platform", "works"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({}, "win32", True),
    ],
)
def test_graphics(environment: dict[str, str], platform: str, works: bool) -> None:  # noqa: FBT001
    assert doctor.graphics_check(environment, platform).works == works


def test_missing_packages_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "find_spec", lambda _name: None)
    assert not any(check.works for check in doctor.package_checks())
    assert "pip install kivy" in (doctor.graphics_check({"DISPLAY": ":0"}).advice or "")


class Fontless:
    def __init__(self, error: Exception) -> None:
        self._error = error

    def fonts(self) -> object:
        raise self._error


@pytest.mark.parametrize("error", [MissingPartError("Install kivy."), FileNotFoundError("Roboto")])
def test_missing_fonts(error: Exception) -> None:
    check = doctor.fonts_check(Fontless(error))
    assert not check.works
    assert "nstall" in (check.advice or "")


def test_little_space_and_a_closed_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(doctor, "ENOUGH_BYTES", 1 << 60)
    assert not doctor.space_check(tmp_path / "not" / "there").works
    monkeypatch.setattr(os, "access", lambda _place, _mode: False)
    assert "--data" in (doctor.folder_check(tmp_path).advice or "")


def test_device_error_is_not_an_exit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> DeviceCatalog:
        raise DeviceError("Install it.")

    assert [check.works for check in doctor.sound_checks(broken, FakeClock())] == [False]


def test_the_measured_way_is_told_for_each_pair_of_devices(tmp_path: Path) -> None:
    services = make_services(tmp_path)
    assert doctor.way_check(services).works
    journal = Journal(services.log(), services.clock)
    journal.write(Calibrated("default → default", 41.0))
    journal.close()
    assert "default → default: 41 ms" in doctor.way_check(services).detail
    journal = Journal(services.log(), services.clock)
    journal.write(Calibrated("over the air → built in", 212.0))
    journal.close()
    check = doctor.way_check(services)
    assert not check.works
    assert "cable" in (check.advice or "")
