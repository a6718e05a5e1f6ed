"""The tuner: which string is meant, how many cents it is off, and whether that is steady."""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ
from coach.hearing.string_pitch import WINDOW_SAMPLES, string_pitch
from coach.music.tuning_system import A4_HZ, cents_between, midi_to_hz

STANDARD_TUNING = (40, 45, 50, 55, 59, 64)
"""E2 A2 D3 G3 B3 E4, strings 6 to 1."""
WITHIN_CENTS = 5.0
"""Common practice, no source; about the smallest difference that a listener notices in single tones."""
_HOP_SAMPLES = 1_024
_HOLD_S = 0.5
"""So long within the limit counts as tuned."""
_STEADY_READINGS = 5
_STEADY_CENTS = 2.0
_QUIETEST = 10.0 ** (-55.0 / 20.0)
_STRUCK = 1.2
"""A string that rings on only gets softer; louder by more than this, it was struck again."""
_OVER_CENTS = 150.0
"""Further above its note than this, a string is being over-tightened. Common practice, no source."""
_NEIGHBOUR_CENTS = 450.0
_SAME_PLUCK_CENTS = 40.0


@dataclass(frozen=True, slots=True)
class TunerReading:
    """What the tuner says about the last quarter of a second.

    Parameters
    ----------
    string
        6 (lowest) to 1.
    target_midi
        The note this string should have.
    cents
        How far it is off; negative is too low (tighten).
    steady
        Whether the last readings agree within 2 cents.
    in_tune
        Whether it was within the limit for half a second.
    warn_over_tight
        Whether to stop and look before tightening: the string is far above its note, or what sounds may be
        the next lower string wound far too high.
    at_s
        Middle of the stretch that was measured, seconds from the first sample.
    """

    string: int
    target_midi: int
    cents: float
    steady: bool
    in_tune: bool
    warn_over_tight: bool
    at_s: float


class Tuner:
    """Listens at 16 kHz and reads 16 times a second.

    Parameters
    ----------
    tuning
        MIDI notes of strings 6 to 1.
    a4_hz
        Tuning standard.
    locked_string
        The string that is meant, 6 to 1; ``None`` lets the nearest one be meant.
    within_cents
        What counts as in tune.
    """

    def __init__(
        self,
        tuning: tuple[int, ...] = STANDARD_TUNING,
        a4_hz: float = A4_HZ,
        locked_string: int | None = None,
        within_cents: float = WITHIN_CENTS,
    ) -> None:
        if not tuning:
            raise ValueError("a tuning has at least one string")
        if locked_string is not None and not 1 <= locked_string <= len(tuning):
            raise ValueError(f"there is no string {locked_string}")
        self._targets_hz = tuple(midi_to_hz(midi, a4_hz) for midi in tuning)
        self._tuning = tuning
        self._locked = locked_string
        self._within = within_cents
        self._held = np.zeros(0, np.float32)
        self._first = 0
        self._recent: deque[tuple[int, float]] = deque(maxlen=_STEADY_READINGS)
        self._good_since_s: float | None = None
        self._level = 0.0
        self._ringing_hz: float | None = None

    def push(self, samples: NDArray[np.float32]) -> TunerReading | None:
        """Take the next samples, shape (n,); the newest reading they allow, ``None`` where nothing rings."""
        readings = self.readings(samples)
        return readings[-1] if readings else None

    def readings(self, samples: NDArray[np.float32]) -> tuple[TunerReading, ...]:
        """As `push`, with every reading that the samples allow."""
        self._held = np.concatenate([self._held, samples.astype(np.float32, copy=False)])
        found = []
        while len(self._held) >= WINDOW_SAMPLES:
            reading = self._read(self._held[:WINDOW_SAMPLES])
            if reading is not None:
                found.append(reading)
            self._held = self._held[_HOP_SAMPLES:]
            self._first += _HOP_SAMPLES
        return tuple(found)

    def _read(self, window: NDArray[np.float32]) -> TunerReading | None:
        level = float(np.sqrt(np.mean(window**2)))
        ringing_hz = self._ringing_hz if level <= _STRUCK * self._level else None
        pitch = string_pitch(window, ringing_hz=ringing_hz) if level > _QUIETEST else None
        self._level = level
        self._ringing_hz = None if pitch is None else pitch.f0_hz
        if pitch is None:
            self._recent.clear()
            self._good_since_s = None
            return None
        at_s = (self._first + WINDOW_SAMPLES / 2) / RATE_HZ
        place = self._meant(pitch.f0_hz)
        cents = cents_between(self._targets_hz[place], pitch.f0_hz)
        if self._recent and (
            self._recent[-1][0] != place or abs(self._recent[-1][1] - cents) > _SAME_PLUCK_CENTS
        ):
            self._recent.clear()
            self._good_since_s = None
        self._recent.append((place, cents))
        return TunerReading(
            string=len(self._tuning) - place,
            target_midi=self._tuning[place],
            cents=cents,
            steady=self._steady(),
            in_tune=self._in_tune(cents, at_s),
            warn_over_tight=self._over_tight(place, cents),
            at_s=at_s,
        )

    def _meant(self, f0_hz: float) -> int:
        """Place in the tuning of the string that is meant."""
        if self._locked is not None:
            return len(self._tuning) - self._locked
        off = [abs(cents_between(target, f0_hz)) for target in self._targets_hz]
        return off.index(min(off))

    def _steady(self) -> bool:
        cents = [value for _, value in self._recent]
        return len(cents) == _STEADY_READINGS and max(cents) - min(cents) <= _STEADY_CENTS

    def _in_tune(self, cents: float, at_s: float) -> bool:
        if abs(cents) > self._within:
            self._good_since_s = None
            return False
        if self._good_since_s is None:
            self._good_since_s = at_s
        return at_s - self._good_since_s >= _HOLD_S

    def _over_tight(self, place: int, cents: float) -> bool:
        if cents > _OVER_CENTS:
            return True
        if self._locked is not None or cents > -_OVER_CENTS:
            return False
        f0_hz = self._targets_hz[place] * 2.0 ** (cents / 1200.0)
        return any(0.0 < cents_between(target, f0_hz) < _NEIGHBOUR_CENTS for target in self._targets_hz)
