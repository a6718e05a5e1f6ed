"""What the pitch tracker gives, as a frequency and as a note number, and the grid it lies on."""

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
        The moment that is told about, the middle of the 256 samples around it; seconds from the first sample
        heard.
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


@dataclass(frozen=True, slots=True)
class PitchFrame:
    """A frame as the segmenter sees it: its pitch as a MIDI number, ``None`` where no note can be heard."""

    time_s: float
    pitch: float | None
    confidence: float
    decided_s: float
