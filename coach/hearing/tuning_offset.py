"""How far a recording is tuned from A4 = 440 Hz."""

import numpy as np
import numpy.typing as npt

PEAK_RANGE_HZ = (60.0, 3000.0)
"""From the lowest bass to where few partials are steady."""
PEAK_FLOOR = 0.02
"""A peak counts from this share of the frame's largest. From memory."""
STEADY_BEND = (0.62, 0.86)
"""How much the logarithm of a peak lies above the mean of its neighbours: a steady sine through a Hann
window has ln 2 = .69 on a bin and .80 between two (the window's transform, Harris 1978); vibrato, slides,
attacks and beating have less or more. The margins are ours, measured on computed instruments."""
TRUSTED_HZ = (300.0, 700.0)
"""Outside of it a peak counts less and less: pianos are tuned wide, flat below and sharp above (Railsback
1938), partials of stiff strings lie sharp (Fletcher 1964), voices waver more in Hz the higher a partial is.
Measured on computed instruments and on sample sets, whose pianos lie up to 17 cents flat around C2."""
AGREEING_CENTS = 15.0
"""Peaks that lie farther than about this from what most say count little: slides, one that is out."""
_ROUNDS = 15


def offset_of_peaks(magnitudes: npt.NDArray[np.float32], hz_per_bin: float) -> float:
    """Tuning offset in cents, -50 to 50, of magnitude spectra.

    Parameters
    ----------
    magnitudes
        Shape (frames, bins), from a Hann window, linear.
    hz_per_bin
        Distance of the bins in Hz.

    Returns
    -------
    float
        Where the steady peaks' distances from equal temperament (ISO 16) gather, weighted by the root of
        their magnitude and by where they are trusted: from their circular mean on, by a mean that outliers do
        not move (Welsch's weights; Holland & Welsch 1977). 0 where there are no peaks. Peaks are placed by a
        parabola through the logarithms of three bins (Smith & Serra 1987, PARSHL).
    """
    inner = magnitudes[:, 1:-1]
    floor = PEAK_FLOOR * magnitudes.max(axis=1, keepdims=True) + 1e-6
    is_peak = (inner > magnitudes[:, :-2]) & (inner >= magnitudes[:, 2:]) & (inner > floor)
    frame, bin_ = np.nonzero(is_peak)
    bin_ += 1
    chosen = (bin_ * hz_per_bin > PEAK_RANGE_HZ[0]) & (bin_ * hz_per_bin < PEAK_RANGE_HZ[1])
    frame, bin_ = frame[chosen], bin_[chosen]
    if frame.size == 0:
        return 0.0
    below, at, above = (np.log(magnitudes[frame, bin_ + k] + 1e-9) for k in (-1, 0, 1))
    bend = at - 0.5 * (below + above)
    shift = np.where(bend > 1e-9, 0.25 * (above - below) / np.where(bend == 0, 1.0, bend), 0.0)
    hz = (bin_ + shift) * hz_per_bin
    steady = (bend > STEADY_BEND[0]) & (bend < STEADY_BEND[1])
    kept = steady if steady.any() else np.ones_like(steady)
    semitones = 12 * np.log2(hz[kept] / 440.0)
    return 100.0 * _gathering(semitones, np.sqrt(magnitudes[frame, bin_][kept]) * _trust(hz[kept]))


def _trust(hz: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    low, high = TRUSTED_HZ
    return np.asarray(1.0 / ((1.0 + (low / hz) ** 2) * (1.0 + (hz / high) ** 2)))


def _gathering(semitones: npt.NDArray[np.float64], weight: npt.NDArray[np.float64]) -> float:
    """Where values modulo 1 gather, -.5 to .5."""
    at = float(np.angle(np.sum(weight * np.exp(2j * np.pi * semitones)))) / (2 * np.pi)
    for _ in range(_ROUNDS):
        off = (semitones - at + 0.5) % 1.0 - 0.5
        counts = weight * np.exp(-0.5 * (off * 100.0 / AGREEING_CENTS) ** 2)
        at += float(np.sum(counts * off) / max(float(np.sum(counts)), 1e-12))
    return (at + 0.5) % 1.0 - 0.5


def tuning_offset(samples: npt.NDArray[np.float32], rate_hz: float) -> float:
    """Tuning offset in cents, -50 to 50, of a recording (mono, -1 to 1); 0 for silence.

    At most about 400 windows of .37 s, spread over the whole, are looked at.
    """
    size = 2 ** round(np.log2(0.3715 * rate_hz))
    if len(samples) < size:
        samples = np.pad(samples, (0, size - len(samples)))
    count = min(400, 1 + (len(samples) - size) // (size // 2))
    starts = np.linspace(0, len(samples) - size, count).astype(int)
    window = np.hanning(size).astype(np.float32)
    found = []
    for chunk in np.array_split(starts, max(1, count // 50)):
        pieces = np.stack([samples[s : s + size] for s in chunk]) * window
        found.append(np.abs(np.fft.rfft(pieces, axis=1)).astype(np.float32) * (2 / window.sum()))
    return offset_of_peaks(np.concatenate(found), rate_hz / size)
