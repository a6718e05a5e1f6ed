"""The studio: microphone, loudspeaker and ear, opened together and calibrated after every opening."""

import numpy as np

from coach.errors import DeviceError
from coach.hearing.roundtrip import RoundTrip, chirp, find_chirp, settled
from coach.practice.events import Calibrated
from coach.practice.settings import Settings
from coach.sessions.deafness import Deafness
from coach.sessions.journal import Journal
from coach.sessions.listener import Listener
from coach.sessions.ports import AudioInput, AudioOutput, DeviceCatalog, Samples, SoundDevice
from coach.sessions.services import Services

CHIRPS = 3
CHIRP_WAIT_S = 0.7
"""Longer than the round trip of wireless headphones."""
POLL_S = 0.01


def device_named(catalog: DeviceCatalog, name: str | None, *, wants_input: bool) -> SoundDevice | None:
    """The device the player has chosen, ``None`` for the system's default (also if it is gone)."""
    if name is None:
        return None
    for device in catalog.devices():
        channels = device.inputs if wants_input else device.outputs
        if device.name == name and channels:
            return device
    return None


class Studio:
    """Everything that sounds and listens, for one run of the app.

    Parameters
    ----------
    services
        Devices, engine, clock.
    journal
        For calibrations.
    """

    def __init__(self, services: Services, journal: Journal) -> None:
        self._services = services
        self._journal = journal
        self._settings: Settings = services.current_settings()
        catalog = services.devices()
        chosen_in = device_named(catalog, self._settings.input_device, wants_input=True)
        chosen_out = device_named(catalog, self._settings.output_device, wants_input=False)
        self._microphone: AudioInput = catalog.input(chosen_in.index if chosen_in else None)
        self._output: AudioOutput = catalog.output(chosen_out.index if chosen_out else None)
        self._device = chosen_in.name if chosen_in else "default"
        self.deafness = Deafness(self._output, services.clock, self._settings.headphones)
        self.listener = Listener(
            self._microphone,
            services.engine("auto"),
            self.deafness,
            services.clock,
            a4_hz=self._settings.a4_hz,
        )
        self._sounds = False
        self._deaf_because: DeviceError | None = None

    @property
    def output(self) -> AudioOutput | None:
        """What sounds, ``None`` where there is no loudspeaker."""
        return self._output if self._sounds else None

    @property
    def sounds(self) -> bool:
        """Whether there is something to hear with."""
        return self._sounds

    def open(self) -> None:
        """Open what there is: loudspeaker, microphone, or both; `sounds` and `deaf_because` tell."""
        try:
            self._output.open()
            self._output.set_volume(self._settings.volume_db)
            self._sounds = True
        except DeviceError:
            self._sounds = False  # the player can still sing and play; `sounds` tells the screen
        try:
            self.listener.start()
            self._deaf_because = None
        except DeviceError as error:
            self._deaf_because = error

    @property
    def deaf_because(self) -> DeviceError | None:
        """Why nothing is heard: the error of opening the microphone, ``None`` while it listens."""
        return self._deaf_because

    def close(self) -> None:
        """Stop listening and sounding; harmless when closed."""
        self.listener.stop()
        self._output.close()
        self._sounds = False

    def calibrate(self) -> float | None:
        """Measure the round trip with chirps; seconds, or ``None`` where it was not heard or not steady.

        The listener rests meanwhile. A measured round trip is logged and used from now on.
        """
        if not self._sounds or self._deaf_because is not None:
            return None
        self.listener.stop()
        try:
            self._microphone.open()
            found = [self._one_chirp() for _ in range(CHIRPS)]
        finally:
            self._microphone.close()
            self.listener.start()
        measured = [each for each in found if each is not None]
        delay_s = settled(measured) if len(measured) == CHIRPS else None
        if delay_s is not None:
            self.deafness.round_trip_s = delay_s
            self._journal.write(Calibrated(self._device, round(1000 * delay_s, 1)))
        return delay_s

    def _one_chirp(self) -> RoundTrip | None:
        clock = self._services.clock
        self._gather(0.1)
        began_s = clock.steady_s()
        self._output.play(chirp(self._output.rate_hz), self._output.rate_hz)
        captured, first_s = self._gather(CHIRP_WAIT_S)
        found = find_chirp(captured, self._microphone.rate_hz)
        if found is None:
            return None
        return RoundTrip(found.delay_s + first_s - began_s, found.match)

    def _gather(self, seconds: float) -> tuple[Samples, float]:
        """What the microphone takes in for a while, and the moment of its first sample."""
        clock = self._services.clock
        until_s = clock.steady_s() + seconds
        parts: list[Samples] = []
        first_s = until_s
        while clock.steady_s() < until_s:
            block = self._microphone.take()
            if block is None:
                clock.sleep(POLL_S)
                continue
            if not parts:
                first_s = block.captured_s
            parts.append(block.samples)
        return (np.concatenate(parts) if parts else np.zeros(0, np.float32)), first_s
