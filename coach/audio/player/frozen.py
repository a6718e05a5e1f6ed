"""One moment of a recording, sounding on for as long as it is wanted.

The moment's spectral peaks become steady sinusoids (sinusoidal modelling after McAulay & Quatieri 1986, with
one frame): pitch is exact, nothing flutters, and there is no loop to be heard.
"""

import numpy as np
from numpy.typing import NDArray

from coach.audio.attacks import find_attacks
from coach.sessions.ports import Samples

MOMENT_S = 0.190
"""Length of what is looked at: tells the partials of E2 apart by twice its window's width."""

LEAST_S = 0.090
"""A shorter moment is lengthened backwards, into what sounded before it."""
AFTER_ATTACK_S = 0.030
"""The noise of a pluck is left out."""

MOST_PARTIALS = 60
"""The strongest are taken."""
RANGE_DB = -60.0
"""Partials weaker than this against the strongest are left out."""

_PAD = 4
"""Times the power of two above the moment the transform is long: the finer grid its peaks are read from."""


class FrozenSource:
    """The `Source` of a held moment.

    Parameters
    ----------
    moment
        Shape (n, 2).
    rate_hz
        Of the moment and of the output.
    """

    def __init__(self, moment: Samples, rate_hz: int) -> None:
        hz, amplitudes, phases = partials(moment, rate_hz)
        self._step = 2.0 * np.pi * hz / rate_hz
        self._phases = phases
        self._amplitudes = amplitudes

    def read(self, count: int) -> Samples:
        """The next frames; never ends."""
        time = np.arange(count)
        angles = self._phases[:, None] + self._step[:, None] * time
        self._phases = (self._phases + self._step * count) % (2.0 * np.pi)
        return np.asarray(np.cos(angles).T @ self._amplitudes, np.float32)


def partials(
    moment: Samples, rate_hz: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Frequencies (k,), amplitudes in both channels (k, 2) and phases at the beginning (k,) of its peaks."""
    count = moment.shape[0]
    window = np.hanning(count)
    size = _PAD * (1 << max(1, count - 1).bit_length())
    spectra = np.fft.rfft(moment.T.astype(np.float64) * window, size) * (2.0 / max(window.sum(), 1e-9))
    both = np.abs(spectra).max(axis=0)
    peaks = np.flatnonzero((both[1:-1] > both[:-2]) & (both[1:-1] >= both[2:])) + 1
    peaks = peaks[both[peaks] > max(1e-6, both.max(initial=0.0) * 10.0 ** (RANGE_DB / 20.0))]
    peaks = np.sort(peaks[np.argsort(-both[peaks])][:MOST_PARTIALS])
    if len(peaks) == 0:
        return np.zeros(0), np.zeros((0, 2)), np.zeros(0)
    low, top, high = (np.log(both[peaks + step] + 1e-12) for step in (-1, 0, 1))
    off = 0.5 * (low - high) / (low - 2.0 * top + high)
    hz = (peaks + off) * rate_hz / size
    louder = np.argmax(np.abs(spectra[:, peaks]), axis=0)
    # A window that begins at sample 0 turns a peak's phase by half its length times the offset in bins.
    phases = np.angle(spectra[louder, peaks]) - np.pi * off * (count - 1) / size
    return hz, np.abs(spectra[:, peaks]).T, phases


def moment_around(sound: Samples, frame: int, rate_hz: int) -> Samples:
    """The steady stretch of sound nearest behind a frame, between the attacks around it."""
    reach = round(2 * MOMENT_S * rate_hz)
    first = max(0, frame - reach)
    near = sound[first : frame + reach]
    attacks = find_attacks(near, rate_hz) + first
    grace = round(AFTER_ATTACK_S * rate_hz)
    past = [int(at) for at in attacks if at <= frame]
    coming = [int(at) for at in attacks if at > frame]
    begin = max(frame, past[-1] + grace) if past else frame
    end = min([begin + round(MOMENT_S * rate_hz), *coming, sound.shape[0]])
    least = round(LEAST_S * rate_hz)
    if end - begin < least:  # just before the next note: take what has sounded
        begin = max(end - least, past[-1] + grace if past else 0, 0)
    if end - begin < least // 2:
        begin = max(0, end - least)
    return sound[begin:end]
