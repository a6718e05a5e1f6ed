"""The studio: microphone, loudspeaker and ear, opened together and calibrated after every opening."""

from enum import Enum

from coach.errors import DeviceError
from coach.hearing.roundtrip import chirp
from coach.practice.events import Calibrated
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.sessions.calibration import Calibration
from coach.sessions.deafness import DEFAULT_ROUND_TRIP_S, Deafness
from coach.sessions.journal import Journal
from coach.sessions.listener import Listener
from coach.sessions.ports import AudioInput, AudioOutput, DeviceCatalog, SoundDevice
from coach.sessions.services import Services

MOST_CHIRPS = 6
"""Three that agree are enough; what spreads is measured again."""
CHIRP_WAIT_S = 4.0
"""Longer than a chirp, the wait for it, and a sound card that is slow to begin."""
POLL_S = 0.01


class WayKnown(Enum):
    """How the sound's way to the microphone is known."""

    MEASURED = "measured"
    """Measured since the devices were opened."""
    KEPT = "kept"
    """As it was last time with these devices."""
    ALLOWED = "allowed"
    """Not yet: a long one is allowed for."""


def device_pair(output: SoundDevice | None, microphone: SoundDevice | None) -> str:
    """The name under which a round trip is kept: it belongs to both devices together."""
    return " → ".join("default" if each is None else each.name for each in (output, microphone))


def device_named(catalog: DeviceCatalog, name: str | None, *, wants_input: bool) -> SoundDevice | None:
    """The device the player has chosen, ``None`` for the system's default (also if it is gone)."""
    if name is None:
        return None
    for device in catalog.devices():
        channels = device.inputs if wants_input else device.outputs
        if device.name == name and channels:
            return device
    return None


def kept_way_s(progress: Progress, devices: str) -> float | None:
    """The round trip in seconds as it was last measured with these devices."""
    kept_ms = progress.round_trips.get(devices)
    return None if kept_ms is None else kept_ms / 1000.0


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
        self._devices = device_pair(chosen_out, chosen_in)
        self._kept_s = kept_way_s(journal.progress, self._devices)
        headphones = self._settings.headphones
        self.deafness = Deafness(
            self._output,
            services.clock,
            headphones,
            DEFAULT_ROUND_TRIP_S if self._kept_s is None else self._kept_s,
        )
        self.listener = Listener(
            self._microphone,
            services.engine("auto"),
            self.deafness,
            services.clock,
            a4_hz=self._settings.a4_hz,
        )
        self.calibration = Calibration(
            self._output,
            self._microphone,
            services.clock,
            self._measured,
            watches=self._settings.measures_way and not headphones,
        )
        self.listener.overhear(self.calibration.hear)
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

    @property
    def way(self) -> tuple[float, WayKnown]:
        """The sound's way to the microphone in seconds, and how it is known."""
        if self.calibration.way_s is not None:
            return self.calibration.way_s, WayKnown.MEASURED
        known = WayKnown.KEPT if self._kept_s is not None else WayKnown.ALLOWED
        return self.deafness.round_trip_s, known

    def calibrate(self) -> float | None:
        """Measure the round trip now, by chirps; seconds, or ``None`` where it was not heard or not steady.

        With a loudspeaker it is measured by itself on what the app sounds; this is for headphones (an ear cup
        is held to the microphone), and for those who do not wait. Needs the listener to go on meanwhile.
        """
        if not self._sounds or self._deaf_because is not None:
            return None
        clock, calibration = self._services.clock, self.calibration
        calibration.begin()
        for _ in range(MOST_CHIRPS):
            tries = calibration.tries
            self._output.play(chirp(self._output.rate_hz), self._output.rate_hz)
            until_s = clock.steady_s() + CHIRP_WAIT_S
            while calibration.tries == tries and clock.steady_s() < until_s:
                clock.sleep(POLL_S)
            if calibration.way_s is not None:
                break
        return calibration.way_s

    def _measured(self, way_s: float) -> None:
        self.deafness.round_trip_s = way_s
        self._journal.write(Calibrated(self._devices, round(1000.0 * way_s, 1)))
