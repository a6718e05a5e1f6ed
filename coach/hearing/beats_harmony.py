"""How much the harmony changes, frame by frame."""

import numpy as np
from numpy.typing import NDArray

_AROUND_S = 0.3
"""What sounds this long before a moment is compared with what sounds this long after it."""
_LOCAL_S = 1.0
_TINY = 1e-9


def harmony_changes(chroma: NDArray[np.float32], rate_hz: float) -> NDArray[np.float64]:
    """How different the pitch classes just before and just after each frame are.

    One less the cosine of both sums, above its mean of a second around (a novelty function of pitch classes;
    Foote, "Automatic audio segmentation using a measure of audio novelty", ICME 2000; the lengths are ours).

    Parameters
    ----------
    chroma
        Shape (frames, 12), amplitudes.
    rate_hz
        Frames a second.

    Returns
    -------
    NDArray[np.float64]
        Shape (frames,), 0 to 1; 0 at both ends.
    """
    around = max(1, round(_AROUND_S * rate_hz))
    count = len(chroma)
    if count <= 2 * around:
        return np.zeros(count)
    sums = np.concatenate([np.zeros((1, 12)), np.cumsum(chroma, axis=0, dtype=np.float64)])
    middle = np.arange(around, count - around)
    before, after = sums[middle] - sums[middle - around], sums[middle + around] - sums[middle]
    norms = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    changes = np.zeros(count)
    changes[middle] = np.where(norms > _TINY, 1.0 - (before * after).sum(axis=1) / (norms + _TINY), 0.0)
    length = min(int(_LOCAL_S * rate_hz) | 1, count)
    return np.maximum(changes - np.convolve(changes, np.ones(length) / length, "same"), 0.0)
