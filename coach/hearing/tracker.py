"""The pitch tracker: samples in, frames out, with the little look-ahead its engine needs."""

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coach.hearing.engines import PitchEngine
from coach.hearing.frames import FRAME_S, FRAME_SAMPLES, RATE_HZ, F0Frame

Source = Literal["any", "voice", "guitar"]
RANGE_HZ: dict[Source, tuple[float, float]] = {
    "any": (62.0, 1450.0),
    "guitar": (65.0, 1450.0),
    "voice": (62.0, 1260.0),
}
"""D2 at A4 = 415 Hz to E6 at 466 Hz for the guitar; 65 Hz to 1.2 kHz, a semitone wider, for the voice."""


class PitchTracker:
    """Cuts a 16 kHz stream into frames and asks the engine about each.

    Parameters
    ----------
    engine
        What estimates the pitch.
    source
        Who is heard: frames out of the source's range are unvoiced.
    """

    def __init__(self, engine: PitchEngine, source: Source = "any") -> None:
        self._engine = engine
        self._lowest, self._highest = RANGE_HZ[source]
        self._held = np.zeros(engine.past_frames * FRAME_SAMPLES, np.float32)
        self._window = (engine.past_frames + 1 + engine.future_frames) * FRAME_SAMPLES
        self._frames = 0
        self._samples = 0

    def push(self, samples: NDArray[np.float32], handed_s: float | None = None) -> tuple[F0Frame, ...]:
        """Take the next samples at 16 kHz, shape (n,); give the frames that they complete.

        ``handed_s`` is the input time to be stamped on them where the caller has handed in more than these
        samples (a decimator holds some back).
        """
        self._samples += len(samples)
        self._held = np.concatenate([self._held, samples.astype(np.float32, copy=False)])
        now_s = self._samples / RATE_HZ if handed_s is None else handed_s
        frames = []
        while len(self._held) >= self._window:
            frames.append(self._frame(self._held[: self._window], now_s))
            self._held = self._held[FRAME_SAMPLES:]
        return tuple(frames)

    def flush(self, handed_s: float | None = None) -> tuple[F0Frame, ...]:
        """The frames still waiting for their look-ahead, as if silence followed."""
        now_s = self._samples / RATE_HZ if handed_s is None else handed_s
        missing = -self._samples % FRAME_SAMPLES + self._engine.future_frames * FRAME_SAMPLES
        return self.push(np.zeros(missing, np.float32), now_s)

    def _frame(self, window: NDArray[np.float32], now_s: float) -> F0Frame:
        found = self._engine.estimate(np.ascontiguousarray(window))
        voiced = found.confidence >= self._engine.voiced_from and self._lowest <= found.f0_hz <= self._highest
        time_s = self._frames * FRAME_S
        self._frames += 1
        return F0Frame(time_s, found.f0_hz if voiced else None, found.confidence, voiced, now_s)
