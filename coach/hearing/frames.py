"""One result of the pitch tracker, and the frame grid it lies on."""

from dataclasses import dataclass

RATE_HZ = 16_000
"""Sample rate at which the player is heard: partials up to 8 kHz are enough for any guitar or voice note."""
FRAME_SAMPLES = 256
"""Step of the tracker: 16 ms, the grid on which the packaged pitch model was trained."""
FRAME_S = FRAME_SAMPLES / RATE_HZ


@dataclass(frozen=True, slots=True)
class F0Frame:
    """The fundamental frequency around one moment.

    Parameters
    ----------
    time_s
        Centre of the frame's 256 samples, seconds from the first sample heard.
    f0_hz
        Fundamental frequency in Hz, ``None`` where the frame is unvoiced.
    confidence
        0 to 1, as the engine states it.
    voiced
        Whether the frame carries a pitch.
    decided_s
        Input handed in, in seconds, when this frame was given out (look-ahead counts, computing does not).
    """

    time_s: float
    f0_hz: float | None
    confidence: float
    voiced: bool
    decided_s: float
