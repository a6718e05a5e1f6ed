"""``coach doctor``: what works on this machine, and what to do where it does not."""

import argparse
import os
import shutil
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from coach.cli.output import Output
from coach.errors import CoachError, DeviceError
from coach.hearing.engines import available_engines
from coach.hearing.roundtrip import USUAL_WIRED_S
from coach.sessions.ports import AudioInput, AudioOutput, Clock, DeviceCatalog, StreamState
from coach.sessions.services import Services

ENOUGH_BYTES = 2_000_000_000
"""Recordings and the cache of slowed copies (at most 1 GB) with room to spare."""

LATENCY_S = 0.25
"""More than any wired device needs; typical of wireless headphones. Common practice, no source."""

_WAIT_S, _STEP_S = 3.0, 0.05


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was looked at.

    Parameters
    ----------
    name
        A short stable word.
    works
        Whether it does.
    detail
        What was found.
    advice
        What to do, ``None`` where all is well.
    """

    name: str
    works: bool
    detail: str
    advice: str | None = None


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words: none of its own."""
    del parser


def run(_args: argparse.Namespace, services: Services, out: Output) -> int:
    """Look at everything and tell it."""
    checks = [*sound_checks(services.devices, services.clock), way_check(services), *engine_checks()]
    checks += [*package_checks(), graphics_check(os.environ), fonts_check(services)]
    checks += [folder_check(services.data_folder), space_check(services.data_folder)]
    out.value(
        [
            {"name": check.name, "works": check.works, "detail": check.detail, "advice": check.advice}
            for check in checks
        ]
    )
    for check in checks:
        out.text(f"{'works' if check.works else 'NEEDS YOU':<10} {check.name}: {check.detail}")
        if check.advice is not None:
            out.text(f"{'':<10} → {check.advice}")
    return 0


def sound_checks(catalog: Callable[[], DeviceCatalog], clock: Clock) -> list[Check]:
    """The sound system, both default devices, and their delays."""
    try:
        devices = catalog().devices()
    except DeviceError as error:
        return [Check("sound system", False, "not found", error.message)]
    listed = ", ".join(device.name for device in devices) or "none"
    found = Check("sound system", True, f"PortAudio; devices: {listed}")
    output, microphone = catalog().output(), catalog().input()
    checks = [_device_check("output", output, clock), _device_check("microphone", microphone, clock)]
    usable = all(check.works for check in checks)
    return [found, *checks, _latency_check(output.latency_s + microphone.latency_s if usable else None)]


def _device_check(name: str, stream: AudioInput | AudioOutput, clock: Clock) -> Check:
    """Open a device and wait until it really runs."""
    try:
        stream.open()
        waited_s = 0.0
        while stream.state is not StreamState.RUNNING and waited_s < _WAIT_S:
            clock.sleep(_STEP_S)
            waited_s += _STEP_S
        if stream.state is StreamState.RUNNING:
            return Check(name, True, f"{stream.rate_hz} Hz")
        advice = "Check that it is plugged in and not muted in the sound settings, or choose another one."
        return Check(name, False, f"opened at {stream.rate_hz} Hz, but nothing comes from it", advice)
    except DeviceError as error:
        return Check(name, False, "not usable", error.message)
    finally:
        stream.close()


def _latency_check(delay_s: float | None) -> Check:
    """How late the app hears what it plays."""
    if delay_s is None:
        return Check("latency", False, "not known", "It is known once an output and a microphone work.")
    detail = f"{1000 * delay_s:.0f} ms out and in, as the devices tell (see also the sound's way)"
    if delay_s <= LATENCY_S:
        return Check("latency", True, detail)
    return Check("latency", False, detail, "Use headphones with a cable instead of wireless ones.")


def way_check(services: Services) -> Check:
    """The measured way of sound to the microphone, for each pair of devices that was used."""
    try:
        log = services.read_log()
        kept_ms = dict(log.progress().round_trips)
        log.close()
    except CoachError as error:
        return Check("sound's way", False, "not known", error.message)
    if not services.current_settings().measures_way:
        return Check("sound's way", True, "not measured: it is switched off in Set-up")
    if not kept_ms:
        return Check(
            "sound's way", True, "not measured yet: it is while the app first sounds on a loudspeaker"
        )
    detail = "; ".join(f"{devices}: {way_ms:.0f} ms" for devices, way_ms in kept_ms.items())
    if max(kept_ms.values()) <= 1000.0 * USUAL_WIRED_S:
        return Check("sound's way", True, f"{detail} (measured by sound; anew after each opening)")
    return Check(
        "sound's way", False, detail, "A long way is typical of wireless headphones: use a cable if you can."
    )


def engine_checks() -> list[Check]:
    """Both pitch engines; one is enough."""
    states = available_engines()
    return [
        Check(
            f"pitch engine {state.name}",
            state.usable,
            state.detail,
            None if state.usable else f"Better notes are heard with it: {state.detail}.",
        )
        for state in states
    ]


_PACKAGES = (
    ("soundfile", "wav, flac, ogg and mp3 files"),
    ("av", "m4a and aac files"),
    ("pedalboard", "slowing down"),
    ("verovio", "engraved sheets"),
    ("reportlab", "sheets and reports as PDF"),
)


def package_checks() -> list[Check]:
    """Packages behind whole features, found without importing them."""
    return [
        Check(purpose, True, f"{name} is installed")
        if find_spec(name) is not None
        else Check(purpose, False, f"{name} is missing", f"Install it: pip install {name}")
        for name, purpose in _PACKAGES
    ]


def graphics_check(environment: Mapping[str, str], platform: str = sys.platform) -> Check:
    """Whether the app's window can be expected to open; Kivy itself is not imported."""
    if find_spec("kivy") is None:
        return Check("graphics", False, "kivy is missing", "Install it: pip install kivy")
    if not platform.startswith("linux"):
        return Check("graphics", True, "kivy is installed")
    display = environment.get("WAYLAND_DISPLAY") or environment.get("DISPLAY")
    if not display:
        return Check(
            "graphics",
            False,
            "kivy is installed, there is no display",
            "Start the app from a desktop; every command works without one (coach demo shows the job).",
        )
    return Check("graphics", True, f"kivy is installed, display {display}")


def fonts_check(services: Services) -> Check:
    """The fonts of sheets."""
    try:
        size = len(services.fonts().regular)
    except CoachError as error:
        return Check("fonts", False, "not found", error.message)
    except OSError:
        return Check("fonts", False, "not found", "Install kivy anew: pip install --force-reinstall kivy")
    return Check("fonts", True, f"Roboto ({size // 1000} kB)")


def folder_check(folder: Path) -> Check:
    """Whether the data folder can be written."""
    place = _nearest(folder)
    if os.access(place, os.W_OK):
        return Check("data folder", True, str(folder))
    advice = f"Allow writing in {place}, or name another folder with --data or COACH_DATA."
    return Check("data folder", False, f"{folder} cannot be written", advice)


def space_check(folder: Path) -> Check:
    """Free space where the data is kept."""
    free = shutil.disk_usage(_nearest(folder)).free
    detail = f"{free / 1e9:.1f} GB free"
    if free >= ENOUGH_BYTES:
        return Check("space", True, detail)
    return Check("space", False, detail, "Free some space: recordings and slowed copies need up to 2 GB.")


def _nearest(folder: Path) -> Path:
    """The folder, or the nearest one above it that exists."""
    return next((each for each in (folder, *folder.parents) if each.exists()), Path())
