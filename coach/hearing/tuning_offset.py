"""How far a recording is tuned from A4 = 440 Hz."""

import numpy as np
import numpy.typing as npt

PEAK_RANGE_HZ = (150.0, 2000.0)
"""Where partials are many and narrow enough to place within a few cents. Measured in this project."""
PEAK_FLOOR = 0.02
"""A peak counts from this share of the frame's largest. From memory."""


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
        The circular mean of the peaks' distances from equal temperament (ISO 16), weighted by the root of
        their magnitude; 0 where there are no peaks. Peaks are placed by a parabola through the logarithms
        of three bins (Smith & Serra 1987, PARSHL).
    """
    inner = magnitudes[:, 1:-1]
    floor = PEAK_FLOOR * magnitudes.max(axis=1, keepdims=True) + 1e-6
    is_peak = (inner > magnitudes[:, :-2]) & (inner >= magnitudes[:, 2:]) & (inner > floor)
    frame, bin_ = np.nonzero(is_peak)
    bin_ += 1
    hz = bin_ * hz_per_bin
    chosen = (hz > PEAK_RANGE_HZ[0]) & (hz < PEAK_RANGE_HZ[1])
    frame, bin_ = frame[chosen], bin_[chosen]
    if frame.size == 0:
        return 0.0
    below, at, above = (np.log(magnitudes[frame, bin_ + k] + 1e-9) for k in (-1, 0, 1))
    bend = below - 2 * at + above
    shift = np.where(np.abs(bend) > 1e-9, 0.5 * (below - above) / np.where(bend == 0, 1.0, bend), 0.0)
    midi = 69 + 12 * np.log2((bin_ + shift) * hz_per_bin / 440.0)
    mean = np.sum(np.sqrt(magnitudes[frame, bin_]) * np.exp(2j * np.pi * midi))
    return float(np.angle(mean) / (2 * np.pi) * 100)


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
