"""The `DeviceCatalog` port over a sound system."""

from collections.abc import Callable

from coach.audio.streams.microphone import Microphone
from coach.audio.streams.portaudio import PortAudio
from coach.audio.streams.speaker import Speaker
from coach.audio.streams.system import SoundSystem
from coach.errors import DeviceError
from coach.sessions.ports import SoundDevice

NO_INPUT = (
    "There is no microphone: plug one in or allow the app to use it, and choose it in Set-up "
    "(recordings can still be read from files)."
)
NO_OUTPUT = "There is no loudspeaker or headphone output: plug one in, and choose it in Set-up."


class PortAudioCatalog:
    """The sound devices of this machine.

    Parameters
    ----------
    system
        PortAudio, unless a test brings another.
    """

    def __init__(self, system: SoundSystem | None = None) -> None:
        self._system = system if system is not None else PortAudio()

    def devices(self) -> tuple[SoundDevice, ...]:
        """All devices; empty where there are none. ``DeviceError`` without a sound system."""
        return self._system.devices()

    def input(self, device: int | None = None) -> Microphone:
        """A microphone (not opened), the default one unless told otherwise."""
        return Microphone(self._system, self._chooser(device, inputs=True))

    def output(self, device: int | None = None) -> Speaker:
        """An output (not opened), the default one unless told otherwise."""
        return Speaker(self._system, self._chooser(device, inputs=False))

    def _chooser(self, index: int | None, *, inputs: bool) -> Callable[[], SoundDevice]:
        name: list[str] = []

        def choose() -> SoundDevice:
            """The device by its number, later by its name (numbers change when one is plugged in)."""
            fit = [each for each in self._system.devices() if (each.inputs if inputs else each.outputs) > 0]
            default = [each for each in fit if (each.is_default_input if inputs else each.is_default_output)]
            if index is None:
                found = default or fit
            elif name:
                found = [each for each in fit if each.name == name[0]]
            else:
                found = [each for each in fit if each.index == index]
            if not found:
                raise DeviceError(NO_INPUT if inputs else NO_OUTPUT)
            name[:] = [found[0].name]
            return found[0]

        return choose
