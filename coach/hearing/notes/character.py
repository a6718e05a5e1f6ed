"""What a young note is made of: the signs by which a string or a voice differs from handling noise.

A creaking chair, a finger along a wound string or a sleeve on the table has a pitch for a moment, too. But
what is new in its sound lies beside the partials of that pitch as much as on them, the peaks near them are
off, its level staggers, and the pitch tracker wavers.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.hearing.frames import RATE_HZ, PitchFrame
from coach.hearing.notes.memory import SoundMemory

_SIZE = 4_096
_BIN_HZ = RATE_HZ / _SIZE
_FROM_S, _GAP_S = 0.020, 0.006
"""The attack itself is left out, and so is the moment before it, which is known to a few milliseconds."""
LONGEST_S = _FROM_S + 4_000 / RATE_HZ
"""So much of a note is looked at: what fits the transform."""
_LOWEST_HZ, _HIGHEST_HZ = 60.0, 5_500.0
_FLATTENING, _DECAY, _PARTIALS = 0.6, 0.86, 10
"""As in `coach.hearing.notes.fresh`."""
_TUNINGS = 2.0 ** (np.arange(-50.0, 51.0, 5.0) / 1200.0)
"""The pitch is looked for within a quarter tone, in steps of 5 cents."""
_STIFFNESSES = np.array([0.0, 5e-5, 1.5e-4, 4e-4])
"""Fletcher's B of f_n = n f_0 sqrt(1 + B n²), from a nylon treble to a short wound string (from memory)."""
_LOBE = 1.1
"""Half the width of a partial in the spectrum, over one over the length: the Hann window's down to 10 dB."""
_WIDE_LOBE = 1.76
"""What lies further from every partial is beside them."""
_PEAK_CENTS, _PEAKS, _STRONG = 40.0, 8, 10.0 ** (-35.0 / 20.0)
"""Peaks are looked for this near the first so many partials; those 35 dB under the strongest do not count."""
_LEVEL_S = (0.04, 0.06, 0.08, 0.10, 0.12, 0.14, 0.17, 0.20, 0.23, 0.26)
"""Moments after the start at which the level of the partials is taken."""
_FRAMES_S = (0.03, 0.025)
"""Frames nearer to the start still hear what was before, frames nearer to the end what comes after."""
_OWN = 0.6
"""Semitones from the note within which a frame hears it."""
_FAINT = 1e-9


@dataclass(frozen=True, slots=True)
class Character:
    """What was measured of a young note; every number is bounded.

    Parameters
    ----------
    off_cents
        How far its spectral peaks lie from the partials of the best fitting string, 0 to 60.
    fall_db
        From its loudest moment to the end, 0 to 20.
    rough_db
        Standard deviation of its level around a steady rise or fall.
    own
        Share of the frames that hear it.
    confidence
        Mean of the tracker's.
    on_partials
        Share of what is new (flattened) that lies on its partials.
    gain
        Natural logarithm of that share over what an even spread would give.
    beside_db
        The highest peak beside the partials against the highest on them, -30 to 10.
    wander_cents
        Standard deviation of the pitch, 60 where it is not heard.
    share
        Of what is new in all the sound.
    heard_s
        For how long it was heard; this is not weighed.
    """

    off_cents: float
    fall_db: float
    rough_db: float
    own: float
    confidence: float
    on_partials: float
    gain: float
    beside_db: float
    wander_cents: float
    share: float
    heard_s: float

    def signs(self) -> NDArray[np.float64]:
        """The numbers that are weighed, shape (10,)."""
        return np.array(
            [
                np.log1p(self.off_cents),
                self.fall_db,
                np.log(self.rough_db + 0.2),
                self.own,
                self.confidence,
                self.on_partials,
                self.gain,
                self.beside_db,
                np.log1p(self.wander_cents),
                np.log(self.share + 0.02),
            ]
        )


def character(
    memory: SoundMemory, frames: list[PitchFrame], start_s: float, pitch: float, f0_hz: float, until_s: float
) -> Character | None:
    """Measure a note by its sound from ``start_s`` up to ``until_s``; ``None`` where that is too little.

    Parameters
    ----------
    pitch, f0_hz
        The pitch as a MIDI number and in Hz.
    """
    until_s = min(until_s, start_s + LONGEST_S)
    pieces = memory.around(start_s, _FROM_S, until_s - start_s, _GAP_S)
    if pieces is None:
        return None
    before, after = (_spectrum(piece) for piece in pieces)
    rise = np.maximum(after - before, 0.0)
    fit_hz, stiffness = _fitted(rise, f0_hz)
    partials = _partials_hz(fit_hz, stiffness)
    lobe_hz = _LOBE * RATE_HZ / len(pieces[1])
    on = _near(partials, lobe_hz)
    heard = slice(int(_LOWEST_HZ / _BIN_HZ), int(_HIGHEST_HZ / _BIN_HZ))
    flat = rise[heard] ** _FLATTENING
    on_partials = float(flat[on[heard]].sum()) / max(float(flat.sum()), _FAINT)
    beside = np.where(_near(partials, _WIDE_LOBE * RATE_HZ / len(pieces[1])), 0.0, rise)[heard]
    peak_db = 20.0 * np.log10((beside.max() + _FAINT) / (np.where(on, rise, 0.0).max() + _FAINT))
    fall_db, rough_db = _course(memory, fit_hz, start_s, until_s)
    own, confidence, wander_cents = _heard(frames, start_s, until_s, pitch)
    return Character(
        off_cents=_off_cents(rise, partials[:_PEAKS]),
        fall_db=fall_db,
        rough_db=rough_db,
        own=own,
        confidence=confidence,
        on_partials=on_partials,
        gain=float(np.log(on_partials / max(float(on[heard].mean()), _FAINT) + 1e-3)),
        beside_db=float(np.clip(peak_db, -30.0, 10.0)),
        wander_cents=wander_cents,
        share=float((rise**2).sum()) / max(float((after**2).sum()), 1e-12),
        heard_s=own * max(0.0, until_s - start_s - sum(_FRAMES_S)),
    )


def _spectrum(piece: NDArray[np.float32]) -> NDArray[np.float64]:
    taper = np.hanning(len(piece) + 2)[1:-1]
    return np.asarray(np.abs(np.fft.rfft(piece * taper, _SIZE)) / np.sqrt((taper**2).sum()))


def _fitted(rise: NDArray[np.float64], f0_hz: float) -> tuple[float, float]:
    """Fundamental frequency and stiffness whose partials hold most of what is new."""
    numbers = np.arange(1, _PARTIALS + 1)
    tuned = f0_hz * np.repeat(_TUNINGS, len(_STIFFNESSES))
    stiff = np.tile(_STIFFNESSES, len(_TUNINGS))
    hz = tuned[:, np.newaxis] * numbers * np.sqrt(1.0 + stiff[:, np.newaxis] * numbers**2)
    weights = _DECAY ** (numbers - 1) * (hz < _HIGHEST_HZ)
    levels = rise[np.minimum(np.round(hz / _BIN_HZ).astype(np.int64), _SIZE // 2)] ** _FLATTENING
    best = int(np.argmax((weights * levels).sum(axis=1) / np.sqrt(weights.sum(axis=1) + 1e-12)))
    return float(tuned[best]), float(stiff[best])


def _partials_hz(f0_hz: float, stiffness: float) -> NDArray[np.float64]:
    numbers = np.arange(1, int(_HIGHEST_HZ / f0_hz) + 1)
    hz = numbers * f0_hz * np.sqrt(1.0 + stiffness * numbers**2)
    return np.asarray(hz[hz < _HIGHEST_HZ])


def _near(partials_hz: NDArray[np.float64], reach_hz: float) -> NDArray[np.bool_]:
    """Which bins lie within reach of a partial."""
    near = np.zeros(_SIZE // 2 + 1, bool)
    for hz in partials_hz:
        near[max(0, int((hz - reach_hz) / _BIN_HZ)) : int(np.ceil((hz + reach_hz) / _BIN_HZ)) + 1] = True
    return near


def _off_cents(rise: NDArray[np.float64], partials_hz: NDArray[np.float64]) -> float:
    """Mean distance of the peaks from the partials, the strong ones counting most."""
    levels, offs = [], []
    reach = 2.0 ** (_PEAK_CENTS / 1200.0)
    for hz in partials_hz:
        first, last = int(hz / reach / _BIN_HZ), int(np.ceil(hz * reach / _BIN_HZ))
        top = first + int(np.argmax(rise[first : last + 1]))
        if first < top < last:
            left, middle, right = np.log(rise[top - 1 : top + 2] + _FAINT)
            bend = left - 2.0 * middle + right
            at_hz = (top + (0.5 * (left - right) / bend if bend < 0.0 else 0.0)) * _BIN_HZ
            levels.append(float(rise[top]))
            offs.append(abs(1200.0 * float(np.log2(at_hz / hz))))
    if not levels or max(levels) <= 0.0:
        return 60.0
    over = np.asarray(levels) / max(levels)
    weights = np.sqrt(over) * (over > _STRONG)
    return min(60.0, float((weights * np.asarray(offs)).sum() / weights.sum()))


def _course(memory: SoundMemory, f0_hz: float, start_s: float, until_s: float) -> tuple[float, float]:
    """How far its partials fall, and how roughly they go."""
    times_s = np.array([each for each in _LEVEL_S if start_s + each <= until_s - SoundMemory.HALF_PIECE_S])
    if len(times_s) < 3:
        return 0.0, 0.3
    levels_db = np.array([memory.partials_db(f0_hz, start_s + each) for each in times_s])
    line = np.polyval(np.polyfit(times_s, levels_db, 1), times_s)
    fall_db = float(levels_db[:-1].max() - levels_db[-1])
    return min(20.0, max(0.0, fall_db)), float((levels_db - line).std())


def _heard(
    frames: list[PitchFrame], start_s: float, until_s: float, pitch: float
) -> tuple[float, float, float]:
    """Share of the frames that hear it, their confidence, and how its pitch wanders."""
    first_s, last_s = start_s + _FRAMES_S[0], until_s - _FRAMES_S[1]
    inside = [frame for frame in frames if first_s <= frame.time_s <= last_s]
    if not inside:
        return 0.0, 0.5, 60.0
    own = [f.pitch for f in inside if f.pitch is not None and abs(f.pitch - pitch) <= _OWN]
    wander = min(60.0, 100.0 * float(np.std(own))) if len(own) > 1 else 60.0
    return len(own) / len(inside), float(np.mean([f.confidence for f in inside])), wander
