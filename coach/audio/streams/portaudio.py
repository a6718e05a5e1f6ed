"""PortAudio by sounddevice."""

import ctypes
import sys
import threading
from dataclasses import dataclass, replace
from types import ModuleType
from typing import Any

from coach.audio.streams.system import Arrives, LiveStream, Wants
from coach.errors import DeviceError
from coach.sessions.ports import SoundDevice

_INPUT_BLOCKS_A_SECOND = 100
_OUTPUT_LATENCY_S = 0.1
"""Asked of the device; with it a busy Python thread makes no gap (measured)."""

NO_SYSTEM = (
    "The sound system (PortAudio) is not installed, so nothing can be played or heard live: install it "
    "(on Debian or Ubuntu: sudo apt-get install libportaudio2), or go on with files."
)


def load() -> ModuleType:
    """The sounddevice module.

    Raises
    ------
    DeviceError
        If it or the PortAudio library is missing.
    """
    try:
        import sounddevice  # noqa: PLC0415  raises OSError where the library is missing
    except (ImportError, OSError):
        raise DeviceError(NO_SYSTEM) from None
    return sounddevice  # type: ignore[no-any-return]


_GONE = "The sound device went away: plug it in again."

_keep_alive: list[Any] = []


def _quieten_alsa() -> None:
    """Stop ALSA from printing its search for devices on standard error."""
    if sys.platform != "linux" or _keep_alive:
        return
    try:
        alsa = ctypes.CDLL("libasound.so.2")
        handler_type = ctypes.CFUNCTYPE(
            None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
        )
        handler = handler_type(lambda *_: None)
        _keep_alive.append(handler)
        alsa.snd_lib_error_set_handler(handler)
    except (OSError, AttributeError):
        _keep_alive.append(None)


class _Library:
    """The one PortAudio of this process: never started anew under a stream, nor by two threads at once."""

    def __init__(self) -> None:
        self.guard = threading.RLock()
        self.open_streams = 0


_LIBRARY = _Library()


@dataclass(slots=True)
class _Stream:
    """A started sounddevice stream."""

    stream: Any

    @property
    def time_s(self) -> float:
        """The stream's clock; ``DeviceError`` if the device is gone."""
        try:
            return float(self.stream.time)
        except load().PortAudioError:
            raise DeviceError(_GONE) from None

    @property
    def latency_s(self) -> float:
        """As PortAudio tells it."""
        return float(self.stream.latency)

    def close(self) -> None:
        """Abort and close; a device that is gone may complain, which changes nothing."""
        with _LIBRARY.guard:
            self.stream.close(ignore_errors=True)
            _LIBRARY.open_streams -= 1


class PortAudio:
    """The `SoundSystem` by PortAudio."""

    def devices(self) -> tuple[SoundDevice, ...]:
        """All devices; empty where there are none."""
        _quieten_alsa()
        sounddevice = load()
        with _LIBRARY.guard:
            default_input, default_output = sounddevice.default.device
            listed = list(sounddevice.query_devices())
        return tuple(
            SoundDevice(
                index=number,
                name=str(found["name"]),
                inputs=int(found["max_input_channels"]),
                outputs=int(found["max_output_channels"]),
                rate_hz=round(found["default_samplerate"]),
                is_default_input=number == default_input,
                is_default_output=number == default_output,
            )
            for number, found in enumerate(listed)
        )

    def refresh(self) -> None:
        """Look for devices anew; only possible while no stream is open."""
        sounddevice = load()
        with _LIBRARY.guard:
            if _LIBRARY.open_streams == 0:
                sounddevice._terminate()  # noqa: SLF001  PortAudio lists devices only when it starts
                sounddevice._initialize()  # noqa: SLF001

    def open_input(self, device: SoundDevice, arrives: Arrives) -> LiveStream:
        """Open and start a microphone."""
        sounddevice = load()

        def callback(block: Any, _frames: int, times: Any, _status: Any) -> None:  # noqa: ANN401
            arrives(block, times.inputBufferAdcTime or times.currentTime)

        return self._started(
            lambda: sounddevice.InputStream(
                device=device.index,
                samplerate=device.rate_hz,
                channels=1,
                dtype="float32",
                blocksize=device.rate_hz // _INPUT_BLOCKS_A_SECOND,
                latency="low",
                callback=callback,
            ),
            f"The microphone “{device.name}” cannot be opened: check that it is plugged in and that no other "
            "program holds it, or choose another one.",
        )

    def open_output(self, device: SoundDevice, channels: int, wants: Wants) -> LiveStream:
        """Open and start an output."""
        sounddevice = load()

        def callback(block: Any, _frames: int, times: Any, status: Any) -> None:  # noqa: ANN401
            wants(block, times.currentTime, bool(status))

        return self._started(
            lambda: sounddevice.OutputStream(
                device=device.index,
                samplerate=device.rate_hz,
                channels=channels,
                dtype="float32",
                latency=_OUTPUT_LATENCY_S,
                callback=callback,
            ),
            f"The output “{device.name}” cannot be opened: check that it is plugged in and that no other "
            "program holds it, or choose another one.",
        )

    def _started(self, make: Any, sentence: str) -> LiveStream:  # noqa: ANN401
        sounddevice = load()
        stream = None
        with _LIBRARY.guard:
            try:
                stream = make()
                stream.start()
            except (sounddevice.PortAudioError, ValueError):
                if stream is not None:
                    stream.close(ignore_errors=True)
                raise DeviceError(sentence) from None
            _LIBRARY.open_streams += 1
        return _Stream(stream)


def with_rate(device: SoundDevice, rate_hz: int) -> SoundDevice:
    """The device, to be opened at another rate."""
    return replace(device, rate_hz=rate_hz)
