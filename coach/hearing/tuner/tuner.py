"""The tuner: which string is meant, how many cents it is off, and whether that is steady."""

from collections import deque
from dataclasses import dataclass
from itertools import count

import numpy as np
from numpy.typing import NDArray

from coach.hearing.tuner.plucks import PluckWindow, PluckWindows
from coach.hearing.tuner.string_pitch import StringPitch, string_pitch
from coach.music.tuning_system import A4_HZ, STANDARD_STRINGS, cents_between, midi_to_hz

WITHIN_CENTS = 5.0
"""Common practice, no source; about the smallest difference that a listener notices in single tones."""
_HOLD_S = 0.5
"""So long within the limit counts as tuned."""
_STEADY_READINGS, STEADY_CENTS = 5, 2.0
"""Steady is who stays within this for so many readings in a row, a third of a second."""
_QUIETEST = 10.0 ** (-65.0 / 20.0)
"""A window softer than -65 dBFS tells nothing."""
_STRUCK = 1.2
"""A string that rings on only gets softer; louder by more than this, it was struck again."""
_TURNED_CENTS = 6.0
"""Or it was tuned in between: one that rings on moves by far less from one window to the next."""
_OWN_CENTS, _REMEMBERED = 15.0, 6
"""A pitch that comes back by itself, this close to that of one of so many plucks before, is that one."""
_LOOKS = 4
"""So many windows after an attack may tell its pitch; else it was a knock, and the string rings on."""
_OVER_CENTS = 150.0
"""Further above its note than this, a string is being over-tightened. Common practice, no source."""
_NEIGHBOUR_CENTS = 450.0
"""A string far under the note it lies nearest to, and so little over a lower one's, may be that one, pulled
too tight."""
_SAME_PLUCK_CENTS = 40.0
"""Within one pluck a pitch moves by less from reading to reading."""


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
    pluck
        Counts the plucks: readings of one pluck share it.
    level_db
        Level of that stretch, dB re full scale.
    """

    string: int
    target_midi: int
    cents: float
    steady: bool
    in_tune: bool
    warn_over_tight: bool
    at_s: float
    pluck: int
    level_db: float


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
        tuning: tuple[int, ...] = STANDARD_STRINGS,
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
        self._windows = PluckWindows()
        self._recent: deque[tuple[int, float]] = deque(maxlen=_STEADY_READINGS)
        self._good_since_s: float | None = None
        self._last: StringPitch | None = None
        self._level = 0.0
        self._attacks = self._looks = 0
        self._pluck = 0
        self._numbers = count(1)
        self._plucked: dict[int, float] = {}

    def push(self, samples: NDArray[np.float32]) -> TunerReading | None:
        """Take the next samples, shape (n,); the newest reading they allow, ``None`` where nothing rings."""
        readings = self.readings(samples)
        return readings[-1] if readings else None

    def readings(self, samples: NDArray[np.float32]) -> tuple[TunerReading, ...]:
        """As `push`, with every reading that the samples allow."""
        return self._of(self._windows.push(samples))

    def flush(self) -> tuple[TunerReading, ...]:
        """The readings that are still held back, at the end of a recording."""
        return self._of(self._windows.flush())

    def _of(self, windows: tuple[PluckWindow, ...]) -> tuple[TunerReading, ...]:
        found = (self._read(window) for window in windows)
        return tuple(reading for reading in found if reading is not None)

    def _read(self, window: PluckWindow) -> TunerReading | None:
        pitch = self._pitch(window) if window.level > _QUIETEST else None
        self._last, self._level = pitch, window.level
        if pitch is None:
            self._forget()
            return None
        place = self._meant(pitch.f0_hz)
        cents = cents_between(self._targets_hz[place], pitch.f0_hz)
        if self._recent and (
            self._recent[-1][0] != place or abs(self._recent[-1][1] - cents) > _SAME_PLUCK_CENTS
        ):
            self._forget()
        self._recent.append((place, cents))
        return TunerReading(
            string=len(self._tuning) - place,
            target_midi=self._tuning[place],
            cents=cents,
            steady=self._steady(),
            in_tune=self._in_tune(cents, window.at_s),
            warn_over_tight=self._over_tight(place, cents),
            at_s=window.at_s,
            pluck=self._pluck,
            level_db=20.0 * float(np.log10(window.level)),
        )

    def _pitch(self, window: PluckWindow) -> StringPitch | None:
        """The pitch that an attack brought, or the one that goes on."""
        if window.attacks != self._attacks:
            self._attacks, self._looks = window.attacks, _LOOKS
        last = self._last
        going_on = None
        if last is not None:
            going_on = string_pitch(window.magnitude, ringing_hz=last.f0_hz, before=window.before)
        if self._looks == 0 and going_on is not None and window.level <= _STRUCK * self._level:
            return going_on
        attacked = self._looks > 0
        self._looks = max(0, self._looks - 1)
        fresh = string_pitch(window.magnitude, before=window.before)
        if fresh is None:
            return going_on
        if last is None or abs(cents_between(last.f0_hz, fresh.f0_hz)) > _SAME_PLUCK_CENTS:
            self._turn_to(fresh, attacked=attacked)
            return fresh
        same = going_on or fresh
        jumped = abs(cents_between(last.f0_hz, same.f0_hz)) > _TURNED_CENTS
        if jumped or same.power > _STRUCK * last.power:
            self._turn_to(same, attacked=True)
        return same

    def _turn_to(self, pitch: StringPitch, *, attacked: bool) -> None:
        """Give a pluck its number: a new one, or its own again where it only outlives a later one."""
        self._looks = 0
        if not attacked:
            for number, f0_hz in reversed(self._plucked.items()):
                if abs(cents_between(f0_hz, pitch.f0_hz)) <= _OWN_CENTS:
                    self._pluck = number
                    return
        self._pluck = next(self._numbers)
        self._plucked[self._pluck] = pitch.f0_hz
        if len(self._plucked) > _REMEMBERED:
            del self._plucked[next(iter(self._plucked))]

    def _forget(self) -> None:
        self._recent.clear()
        self._good_since_s = None

    def _meant(self, f0_hz: float) -> int:
        """Place in the tuning of the string that is meant."""
        if self._locked is not None:
            return len(self._tuning) - self._locked
        off = [abs(cents_between(target, f0_hz)) for target in self._targets_hz]
        return off.index(min(off))

    def _steady(self) -> bool:
        cents = [value for _, value in self._recent]
        return len(cents) == _STEADY_READINGS and max(cents) - min(cents) <= STEADY_CENTS

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
