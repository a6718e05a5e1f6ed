"""The type of audio samples."""

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
"""Mono samples of shape (n,), or stereo of shape (n, 2), float32, full scale ±1."""
