"""The last second of sound, and what can be measured in it after the fact."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ
from coach.hearing.notes.fresh import Fresh, fresh_sound, pieces

_KEPT_SAMPLES = RATE_HZ
_WINDOW_SAMPLES = 768
"""48 ms: what is measured at a moment."""
_PARTIALS, _HIGHEST_HZ = 6, 6_000.0
"""Partials whose powers are summed, as far as they lie so low."""
_EACH_PARTIALS, _EACH_HIGHEST_HZ = 12, 5_500.0
"""The same for those that are told one by one."""
FLOOR_DB = -100.0
"""Softer is silence."""
OPENING_S = 0.06 + _WINDOW_SAMPLES / 2 / RATE_HZ
"""Up to here what was before a moment lies before the first sample, and nobody knows what sounded then."""
_ATTACKED_DB = -24.0
"""As loud as this from the first sample on, it is the player close to the microphone; measured on notes cut
at their attack (-21 to -11) and on a piano in the room (-37 to -27)."""
_ATTACK_RISE_DB = 10.0
"""So much under what follows, the first moment still stands before the attack: a steady low tone differs
from one moment to the next by less."""
_LOUDEST_S = (0.03, 0.06, 0.1, 0.15)
"""Moments after a start at one of which a note is loudest."""
_FIRST_S, _HOP_S, _ATTACK_S = 0.002, 0.016, 0.112
"""At the opening: its first moment, and pieces of so much sound in the time that an attack takes."""


@dataclass(frozen=True, slots=True, eq=False)
class PartialLevels:
    """Levels in dB re full scale of each partial, and halfway between it and the next; shape (partials,)."""

    on: NDArray[np.float64]
    between: NDArray[np.float64]


class SoundMemory:
    """Keeps the last second of a 16 kHz stream."""

    HALF_PIECE_S: ClassVar[float] = _WINDOW_SAMPLES / 2 / RATE_HZ
    """How far what is measured at a moment reaches to either side of it."""

    def __init__(self, a4_hz: float) -> None:
        self._a4_hz = a4_hz
        self._room = np.zeros(2 * _KEPT_SAMPLES, np.float32)
        self._filled = 0
        self._held = self._room[:0]
        self._end = 0
        self._taper = np.hanning(_WINDOW_SAMPLES + 2)[1:-1]
        self._time = (np.arange(_WINDOW_SAMPLES) - _WINDOW_SAMPLES / 2) / RATE_HZ

    def push(self, samples: NDArray[np.float32]) -> None:
        """Take the next samples, shape (n,)."""
        self._end += len(samples)
        samples = samples[-_KEPT_SAMPLES:]
        if self._filled + len(samples) > len(self._room):
            self._room[: len(self._held)] = self._held.copy()
            self._filled = len(self._held)
        filled = self._filled + len(samples)
        self._room[self._filled : filled] = samples
        self._held, self._filled = self._room[max(0, filled - _KEPT_SAMPLES) : filled], filled

    def opens_with_attack(self) -> bool:
        """Whether a note begins at the very start of the stream, rather than going on from before it.

        To be asked within the first second.
        """
        opening = self._held[: round(_ATTACK_S * RATE_HZ)] if self._end == len(self._held) else self._held[:0]
        hop = round(_HOP_S * RATE_HZ)
        if len(opening) < hop:
            return False
        loudest_db = max(_db(opening[at : at + hop]) for at in range(0, len(opening) - hop + 1, hop // 2))
        rise_db = loudest_db - _db(opening[: round(_FIRST_S * RATE_HZ)])
        return loudest_db >= _ATTACKED_DB or rise_db >= _ATTACK_RISE_DB

    @property
    def end_s(self) -> float:
        """Up to when sound has come, in seconds."""
        return self._end / RATE_HZ

    def fresh(self, onset_s: float) -> Fresh | None:
        """What is new after an onset; ``None`` until enough has followed it."""
        found = pieces(self._held, (self._end - len(self._held)) / RATE_HZ, onset_s)
        return None if found is None else fresh_sound(*found, self._a4_hz)

    def around(
        self, start_s: float, from_s: float, to_s: float, gap_s: float
    ) -> tuple[NDArray[np.float32], NDArray[np.float32]] | None:
        """As much sound before a start (up to a gap) as from one moment to another after it.

        Silence stands for what was before the stream or is forgotten; ``None`` if less than 48 ms followed.
        """
        at = round(start_s * RATE_HZ) - (self._end - len(self._held))
        first, last = max(0, at + round(from_s * RATE_HZ)), min(len(self._held), at + round(to_s * RATE_HZ))
        if last - first < _WINDOW_SAMPLES:
            return None
        after = self._held[first:last]
        end = max(0, at - round(gap_s * RATE_HZ))
        before = self._held[max(0, end - len(after)) : end]
        return np.concatenate([np.zeros(len(after) - len(before), np.float32), before]), after

    def partials_db(self, f0_hz: float, at_s: float) -> float:
        """Summed power of the first six partials in the 48 ms around a moment, in dB re full scale."""
        piece = self._piece(at_s)
        if piece is None:
            return FLOOR_DB
        count = max(1, min(_PARTIALS, int(_HIGHEST_HZ / f0_hz)))
        turns = np.exp(-2j * np.pi * f0_hz * np.arange(1, count + 1)[:, np.newaxis] * self._time)
        power = float((np.abs(turns @ (piece * self._taper)) ** 2).sum()) / _WINDOW_SAMPLES**2
        return max(FLOOR_DB, 10.0 * float(np.log10(power + 1e-12)))

    def each_partial_db(self, f0_hz: float, at_s: float) -> PartialLevels:
        """Level of each of the first twelve partials in the 48 ms around a moment."""
        count = max(1, min(_EACH_PARTIALS, int(_EACH_HIGHEST_HZ / f0_hz)))
        piece = self._piece(at_s)
        if piece is None:
            return PartialLevels(np.full(count, FLOOR_DB), np.full(count, FLOOR_DB))
        numbers = np.arange(2, 2 * count + 2)[:, np.newaxis] / 2.0
        found = np.abs(np.exp(-2j * np.pi * f0_hz * numbers * self._time) @ (piece * self._taper))
        levels = np.maximum(FLOOR_DB, 20.0 * np.log10(found / _WINDOW_SAMPLES + 1e-6))
        return PartialLevels(levels[0::2], levels[1::2])

    def loudest_db(self, start_s: float) -> float:
        """Level of a note where it is loudest, 0.03 to 0.15 s after its start, in dB re full scale."""
        return max(self.level_db(start_s + after_s) for after_s in _LOUDEST_S)

    def level_db(self, at_s: float) -> float:
        """Level of all sound in the 48 ms around a moment, in dB re full scale."""
        piece = self._piece(at_s)
        if piece is None:
            return FLOOR_DB
        return _db(piece)

    def _piece(self, at_s: float) -> NDArray[np.float64] | None:
        first = round(at_s * RATE_HZ) - _WINDOW_SAMPLES // 2 - (self._end - len(self._held))
        if first + _WINDOW_SAMPLES > len(self._held) or first + _WINDOW_SAMPLES <= 0:
            return None
        piece = self._held[max(0, first) : first + _WINDOW_SAMPLES].astype(np.float64)
        return np.concatenate([np.zeros(_WINDOW_SAMPLES - len(piece)), piece])


def _db(piece: NDArray[np.floating]) -> float:
    return max(FLOOR_DB, 10.0 * float(np.log10(np.mean(piece.astype(np.float64) ** 2) + 1e-12)))
