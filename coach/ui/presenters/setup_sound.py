"""What set-up says and does about sound: devices, volume, a soft tone, the sound's way to the microphone."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coach.hearing.roundtrip import RoundTrip
from coach.practice.settings import Settings
from coach.sessions.ports import SoundDevice
from coach.sessions.studio import WayKnown
from coach.tones.instruments import tone
from coach.tones.prompt import Timbre

DEFAULT = ""
"""The option that stands for the system's own choice."""
MOST_SHOWN = 8
"""So many devices are listed, the chosen one among them."""
VOLUMES_DB = {
    "-24.0": "very quiet",
    "-18.0": "quieter",
    "-12.0": "quiet",
    "-6.0": "middle",
    "0.0": "loud",
}
"""Never above 0 dB; the default is quiet."""
CAUTION = (
    "Start quiet. In headphones keep to a level at which you can still hear someone talk beside you. "
    "The World Health Organization and ITU-T H.870 give 80 dB for 40 hours a week as an adult's allowance; "
    "I cannot measure the sound at your ear, and claim no dose."
)
HEARD_NOTHING = (
    "I did not hear my own chirps three times alike. With a loudspeaker turn it up a little; with headphones "
    "hold an ear cup to the microphone; then measure again. Until then I allow for a long way."
)
NO_LOUDSPEAKER = "Nothing can sound here: plug in a loudspeaker or headphones, or choose another output."
TONE_PLAYED = "That was a soft A, one second long. If you heard nothing, choose another output or turn it up."
TONE_HZ, TONE_S, TONE_GAIN_DB = 220.0, 1.0, -6.0


@dataclass(frozen=True, slots=True)
class DeviceChoice:
    """The devices of one direction as options, and the one the settings hold."""

    options: tuple[tuple[str, str], ...]
    chosen: str


def device_choice(devices: Iterable[SoundDevice], chosen: str | None, *, wants_input: bool) -> DeviceChoice:
    """The devices that can be chosen by their names; one that is gone is kept in the list and says so."""
    names = [each.name for each in devices if (each.inputs if wants_input else each.outputs) > 0]
    shown = list(dict.fromkeys(names))[:MOST_SHOWN]
    words = [(DEFAULT, "as the system has it"), *((name, name) for name in shown)]
    if chosen is not None and chosen not in shown:
        words.append((chosen, chosen if chosen in names else f"{chosen} (not there now)"))
    return DeviceChoice(tuple(words), DEFAULT if chosen is None else chosen)


def with_device(settings: Settings, key: str, option: str) -> Settings:
    """The settings with another device; ``key`` is ``input`` or ``output``."""
    name = None if option == DEFAULT else option
    return replace(settings, input_device=name) if key == "input" else replace(settings, output_device=name)


def volume_of(settings: Settings) -> str:
    """The option that lies nearest to the volume kept."""
    return min(VOLUMES_DB, key=lambda each: abs(float(each) - settings.volume_db))


def soft_tone(rate_hz: int) -> NDArray[np.float32]:
    """One second of a soft A3, mono."""
    return np.asarray(tone(Timbre.VOICE, TONE_HZ, TONE_S, rate_hz), np.float32)


def known_way_words(way_s: float, known: WayKnown, *, headphones: bool) -> str:
    """What is known of the sound's way, unasked; empty where it does not matter."""
    match known:
        case WayKnown.MEASURED:
            return way_words(way_s)
        case _ if headphones:
            return ""
        case WayKnown.KEPT:
            kept = f"Last time my sound took {way_s * 1000:.0f} ms to the microphone."
            return f"{kept} I measure it anew while I first sound."
        case WayKnown.ALLOWED:
            return "I measure how long my sound takes to the microphone while I first sound."


def way_words(delay_s: float | None) -> str:
    """What a measured round trip means; ``None`` where it was not heard or not steady."""
    if delay_s is None:
        return HEARD_NOTHING
    measured = f"From my sound to the microphone it takes {delay_s * 1000:.0f} ms."
    if RoundTrip(delay_s, 1.0).wireless:
        return (
            f"{measured} That is long, as wireless headphones or loudspeakers are: what you hear comes late. "
            "Use a cable if you can; I allow for it meanwhile."
        )
    return f"{measured} That is quick enough to play along, and I allow for it."
