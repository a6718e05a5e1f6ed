"""A private PulseAudio with a virtual microphone and a virtual speaker, for tests marked ``device``.

Its own folder, socket and ALSA configuration (``ALSA_CONFIG_PATH``): no other sound server and no file of
the user is touched. Two null sinks stand for the devices; the monitor of one is the microphone, the monitor
of the other tells what the speaker plays. A fresh null sink delivers nothing for its first two seconds, so
a reader is kept open on each monitor, and the server counts as ready when both deliver.
"""

import os
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Self

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from coach.audio.streams import portaudio

MICROPHONE, SPEAKER = "virtual_microphone", "virtual_speaker"
RATE_HZ = 48_000
READY_S = 15.0
PROGRAMS = ("pulseaudio", "pactl", "parec", "paplay")

_ALSA = """</usr/share/alsa/alsa.conf>
pcm.!default { type pulse hint.description "virtual" }
ctl.!default { type pulse }
"""
_FOREIGN = (
    "PULSE_SERVER",
    "PULSE_SINK",
    "PULSE_SOURCE",
    "DISPLAY",
    "DBUS_SESSION_BUS_ADDRESS",
    "XDG_RUNTIME_DIR",
)


class Recording:
    """What the virtual speaker plays, from the moment of making on."""

    def __init__(self, source: IO[bytes], process: subprocess.Popen[bytes]) -> None:
        self._source, self._process = source, process
        self._parts: list[bytes] = []
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        while part := self._source.read(4_096):
            self._parts.append(part)

    def heard(self) -> NDArray[np.float32]:
        """All so far, stereo, shape (n, 2), at `RATE_HZ`."""
        data = b"".join(self._parts)
        return np.frombuffer(data[: len(data) // 8 * 8], np.float32).reshape(-1, 2)

    def stop(self) -> NDArray[np.float32]:
        """End the recording and give all of it."""
        self._process.terminate()
        self._process.wait()
        self._thread.join()
        self._source.close()
        return self.heard()


class PrivatePulse:
    """The server; a context manager.

    ``env`` is what a child process needs to find it: PortAudio's default input is then the virtual
    microphone, its default output the virtual speaker. For this very process use `virtual_devices`.
    """

    def __enter__(self) -> Self:
        self.folder = Path(tempfile.mkdtemp(prefix="pulse-"))
        self._readers: list[Recording] = []
        (self.folder / "asound.conf").write_text(_ALSA)
        self.changes = {
            "PULSE_SERVER": f"unix:{self.folder}/native",
            "PULSE_COOKIE": f"{self.folder}/cookie",
            "PULSE_RUNTIME_PATH": str(self.folder),
            "PULSE_STATE_PATH": str(self.folder),
            "ALSA_CONFIG_PATH": f"{self.folder}/asound.conf",
            "PULSE_SINK": SPEAKER,
            "PULSE_SOURCE": f"{MICROPHONE}.monitor",
        }
        self.env = {**os.environ, **self.changes}
        self._log = (self.folder / "log").open("wb")
        self.start()
        return self

    def start(self) -> None:
        """Start the server, or start it again after `kill`."""
        (self.folder / "native").unlink(missing_ok=True)
        self._server = subprocess.Popen(
            self._words(),
            env=self._server_env(),
            stdin=subprocess.DEVNULL,
            stdout=self._log,
            stderr=self._log,
        )
        try:
            self._wait_until_ready()
        except BaseException:
            self.__exit__()
            raise

    def kill(self) -> None:
        """End the server at once, without a word to those who use it."""
        self._server.kill()
        self._server.wait()
        for reader in self._readers:
            reader.stop()
        self._readers = []

    def __exit__(self, *_: object) -> None:
        for reader in self._readers:
            reader.stop()
        self._server.terminate()
        try:
            self._server.wait(5)
        except subprocess.TimeoutExpired:
            self._server.kill()
            self._server.wait()
        self._log.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def feed(self, sound: NDArray[np.float32], *, wait: bool = True) -> subprocess.Popen[bytes]:
        """Play a sound (at `RATE_HZ`) into the virtual microphone."""
        path = self.folder / f"feed-{time.monotonic_ns()}.wav"
        soundfile.write(path, sound, RATE_HZ, subtype="FLOAT")
        playing = subprocess.Popen(["paplay", f"--device={MICROPHONE}", str(path)], env=self.env)
        if wait:
            playing.wait(60)
        return playing

    def record(self) -> Recording:
        """Begin to record what the virtual speaker plays."""
        return self._reader(SPEAKER)

    def join(self) -> str:
        """Lead what the speaker plays into the microphone, as in a room; `part` ends it."""
        words = (f"source={SPEAKER}.monitor", f"sink={MICROPHONE}", "latency_msec=30", "adjust_time=0")
        return self._pactl("load-module", "module-loopback", *words).strip()

    def part(self, joint: str) -> None:
        """End what `join` began."""
        self._pactl("unload-module", joint)

    def unplug(self, device: str) -> None:
        """Take a virtual device away."""
        for line in self._pactl("list", "short", "modules").splitlines():
            if f"sink_name={device} " in line + " ":
                self._pactl("unload-module", line.split()[0])

    def plug_in(self, device: str) -> None:
        """Bring a virtual device (back)."""
        self._pactl("load-module", *self._sink(device))
        self._readers.append(self._reader(device))

    def _pactl(self, *words: str) -> str:
        done = subprocess.run(["pactl", *words], env=self.env, capture_output=True, text=True, check=False)
        return done.stdout

    def _reader(self, device: str) -> Recording:
        words = [
            "parec",
            f"--device={device}.monitor",
            "--format=float32le",
            f"--rate={RATE_HZ}",
            "--channels=2",
        ]
        process = subprocess.Popen(
            [*words, "--latency-msec=20"], env=self.env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        assert process.stdout is not None
        return Recording(process.stdout, process)

    @staticmethod
    def _sink(device: str) -> tuple[str, ...]:
        return ("module-null-sink", f"sink_name={device}", f"rate={RATE_HZ}", "channels=2")

    def _words(self) -> list[str]:
        # Without readers, when the tests were killed, it ends by itself.
        words = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=20", "--use-pid-file=no"]
        words += ["--high-priority=no", "--realtime=no", "--disable-shm=yes", "--log-target=stderr"]
        words += ["-L", f"module-native-protocol-unix socket={self.folder}/native auth-anonymous=1"]
        for device in (MICROPHONE, SPEAKER):
            words += ["-L", " ".join(self._sink(device))]
        return words

    def _server_env(self) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if name not in _FOREIGN}
        return kept | {
            "PULSE_RUNTIME_PATH": str(self.folder),
            "PULSE_STATE_PATH": str(self.folder),
            "PULSE_COOKIE": f"{self.folder}/cookie",
            "HOME": str(self.folder),
        }

    def _wait_until_ready(self) -> None:
        until_s = time.monotonic() + READY_S
        while SPEAKER not in self._pactl("list", "short", "sinks"):
            if self._server.poll() is not None or time.monotonic() > until_s:
                raise RuntimeError((self.folder / "log").read_text()[-1_000:])
            time.sleep(0.03)
        self._readers = [self._reader(device) for device in (MICROPHONE, SPEAKER)]
        while not all(len(reader.heard()) for reader in self._readers):
            if time.monotonic() > until_s:
                raise RuntimeError("the virtual devices deliver nothing")
            time.sleep(0.03)


def missing_programs() -> list[str]:
    """The programs that the virtual devices need and this machine lacks."""
    return [name for name in PROGRAMS if shutil.which(name) is None]


@contextmanager
def in_this_process(server: PrivatePulse) -> Iterator[None]:
    """Point this process's PortAudio at the virtual devices, and back; no stream may be open."""
    before = {name: os.environ.get(name) for name in server.changes}
    os.environ.update(server.changes)
    portaudio.PortAudio().refresh()
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
        portaudio.PortAudio().refresh()


@pytest.fixture(scope="session")
def pulse() -> Iterator[PrivatePulse]:
    """The server, one for all tests; under ``CI=true`` a missing program is a failure."""
    missing = missing_programs()
    if missing:
        sentence = f"virtual sound devices need {', '.join(missing)}"
        if os.environ.get("CI") == "true":
            pytest.fail(sentence)
        pytest.skip(sentence)
    with PrivatePulse() as server:
        yield server


@pytest.fixture
def virtual_devices(pulse: PrivatePulse) -> Iterator[PrivatePulse]:
    """The server, with this process's default input and output on its devices."""
    with in_this_process(pulse):
        yield pulse
