"""The tuner at a live microphone: only what was plucked is told, no voice, no hum, no talk.

The same signs as in a recording (see `tuned_strings`), asked as the sound goes on: a plucked string rises
fast, or else fades from its first moment on, and its pitch holds still.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ
from coach.hearing.tuner.plucks import HOP_SAMPLES
from coach.hearing.tuner.struck import is_struck, rises_fast
from coach.hearing.tuner.tuner import Tuner, TunerReading

FIRST_READINGS = 16
"""The first second tells whether it was plucked."""
ATTACK_S = 0.35
"""The first window begins at most 0.1 s after the attack; its middle lies 0.13 s later."""
_LEAST_READINGS = 3
_WAVER_CENTS = 4.0
"""Measured: a string moves by a median of under 1 cent, in noise at 10 dB by 2.5, sung notes by 7 to 18."""
_FADE_READINGS, _CLEAR_FADE_DB_A_SECOND = 8, -6.0
"""Falling so fast from its first moment on it is a string before its first second is over."""
_KEPT_SAMPLES = RATE_HZ
_KEPT_PLUCKS = 8
_READINGS_A_SECOND = RATE_HZ / HOP_SAMPLES


def wavers(readings: Sequence[TunerReading]) -> bool:
    """Whether the pitch moves from reading to reading, as a voice does; a string sinks a little at most."""
    steps = np.abs(np.diff([whole_cents(reading) for reading in readings]))
    return len(steps) > 0 and float(np.median(steps)) > _WAVER_CENTS


def whole_cents(reading: TunerReading) -> float:
    """The pitch in cents over MIDI note 0: the same whichever string is meant."""
    return 100.0 * reading.target_midi + reading.cents


def was_struck(readings: Sequence[TunerReading], attack: NDArray[np.float32]) -> bool:
    """Whether what these readings tell of was struck; ``attack`` is `ATTACK_S` of sound before the first."""
    times_s = np.asarray([reading.at_s for reading in readings])
    levels_db = np.asarray([reading.level_db for reading in readings])
    return is_struck(attack, times_s, levels_db)


def _fades_clearly(readings: Sequence[TunerReading]) -> bool:
    if len(readings) < _FADE_READINGS:
        return False
    times_s, levels_db = [each.at_s for each in readings], [each.level_db for each in readings]
    return float(np.polyfit(times_s, levels_db, 1)[0]) <= _CLEAR_FADE_DB_A_SECOND


@dataclass(slots=True)
class _Sound:
    """A pitch that set in: its first readings, the sound it set in with, and whether it is a string's."""

    attack: NDArray[np.float32]
    rises: bool
    readings: list[TunerReading] = field(default_factory=list)
    string: bool | None = None

    def judge(self, reading: TunerReading) -> bool | None:
        """Whether it is a string, with one more reading; ``None`` while that cannot be told."""
        if len(self.readings) < FIRST_READINGS:
            self.readings.append(reading)
            self.string = self._judged()
        return self.string

    def _judged(self) -> bool | None:
        if len(self.readings) < _LEAST_READINGS:
            return None
        if wavers(self.readings):
            return False
        if self.rises:
            return True
        if len(self.readings) < FIRST_READINGS:
            # A voice, too, may grow a little softer for a third of a second.
            return True if _fades_clearly(self.readings) else None
        return was_struck(self.readings, self.attack)


class LiveTuner:
    """Tells the readings of a `Tuner` that are a plucked string's, a fifth of a second after its attack on.

    Parameters
    ----------
    tuner
        What reads; it must not have heard anything yet.
    """

    def __init__(self, tuner: Tuner) -> None:
        self._tuner = tuner
        self._held = np.zeros(0, np.float32)
        self._end = 0
        self._sounds: dict[int, _Sound] = {}
        self._others = 0
        self._silent_samples = 0

    @property
    def other_s(self) -> float:
        """How long something has sounded now that is no string; 0 while a string or nothing rings."""
        return self._others / _READINGS_A_SECOND

    def readings(self, samples: NDArray[np.float32]) -> tuple[TunerReading, ...]:
        """Take the next samples at 16 kHz, shape (n,); the readings of strings that they allow."""
        self._end += len(samples)
        self._held = np.concatenate([self._held, samples])[-_KEPT_SAMPLES:]
        found = self._tuner.readings(samples)
        self._silent_samples = 0 if found else self._silent_samples + len(samples)
        if self._silent_samples > RATE_HZ / 2:
            self._others = 0
        return tuple(reading for reading in found if self._is_string(reading))

    def _is_string(self, reading: TunerReading) -> bool:
        sound = self._sounds.get(reading.pluck)
        if sound is None:
            attack = self._before(reading.at_s)
            sound = self._sounds[reading.pluck] = _Sound(attack, rises_fast(attack))
            if len(self._sounds) > _KEPT_PLUCKS:
                del self._sounds[next(iter(self._sounds))]
        string = sound.judge(reading)
        self._others = 0 if string else self._others + 1
        return bool(string)

    def _before(self, at_s: float) -> NDArray[np.float32]:
        middle = max(0, round(at_s * RATE_HZ) - (self._end - len(self._held)))
        return self._held[max(0, middle - round(ATTACK_S * RATE_HZ)) : middle]
