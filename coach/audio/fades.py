"""Fades without kinks."""

import numpy as np

from coach.sessions.ports import Samples


def rising(count: int) -> Samples:
    """A fade-in from 0 to 1 along half a cosine, shape (count, 1); one minus it is the fade-out.

    Its slope is zero at both ends, so that it adds no edge of its own to what it fades.
    """
    phase = (np.arange(count, dtype=np.float32) + 0.5) / max(1, count)
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * phase[:, None]), np.float32)
