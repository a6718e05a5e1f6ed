"""The pitch tracker: samples in, frames out, with the little look-ahead its engine needs."""

import math
from collections import deque
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


_BRISK_FRAMES = 10
"""After a rise in level every frame is given at once for this long: 0.16 s, in which a note is decided or put
right."""
_CALM_FRAMES = 2
"""At other times two frames are asked for together: nearly half the cost, 16 ms later."""
_STEADY_FRAMES: dict[Source, int] = {"any": 3, "guitar": 4, "voice": 3}
"""While one note or silence goes on, more: the network's cost is mostly what lies around the frames. A string
begins with a rise; a voice may move on without one, and is then heard up to 16 ms later."""
_STEADY_RUN, _STEADY_CENTS, _STEADY_SURE = 4, 25.0, 0.8
"""One note goes on when so many frames in a row are this close together and this sure."""
_RISE, _UPPER_RISE = 10.0 ** (4.0 / 10.0), 10.0 ** (1.5 / 10.0)
"""4 dB over the last frames, or 1.5 dB in the upper part, is a rise; steady noise mostly stays below."""


class PitchTracker:
    """Cuts a 16 kHz stream into frames and asks the engine about them.

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
        self._steady = _STEADY_FRAMES[source]
        self._held = np.zeros(engine.past_frames * FRAME_SAMPLES, np.float32)
        self._around = engine.past_frames + engine.future_frames
        self._frames = 0
        self._samples = 0
        self._levels: deque[tuple[float, float]] = deque(maxlen=6)
        self._weighed = 0
        self._brisk = _BRISK_FRAMES
        self._run: deque[float] = deque(maxlen=_STEADY_RUN)
        self._unvoiced = 0

    def push(self, samples: NDArray[np.float32], handed_s: float | None = None) -> tuple[F0Frame, ...]:
        """Take the next samples at 16 kHz, shape (n,); give the frames that they complete.

        ``handed_s`` is the input time to be stamped on them where the caller has handed in more than these
        samples (a decimator holds some back).
        """
        self._samples += len(samples)
        self._held = np.concatenate([self._held, samples.astype(np.float32, copy=False)])
        self._weigh()
        now_s = self._samples / RATE_HZ if handed_s is None else handed_s
        frames: list[F0Frame] = []
        while (ready := len(self._held) // FRAME_SAMPLES - self._around) >= 1:
            most = self._together()
            if self._brisk == 0 and ready < most:
                break
            frames += self._ask(min(ready, most), now_s)
        return tuple(frames)

    def _together(self) -> int:
        """How many frames are asked for at once where nothing is brisk."""
        held = len(self._run) == _STEADY_RUN and max(self._run) - min(self._run) <= _STEADY_CENTS
        return self._steady if held or self._unvoiced >= _STEADY_RUN else _CALM_FRAMES

    def flush(self, handed_s: float | None = None) -> tuple[F0Frame, ...]:
        """The frames still waiting for their look-ahead, as if silence followed."""
        now_s = self._samples / RATE_HZ if handed_s is None else handed_s
        missing = -self._samples % FRAME_SAMPLES + self._engine.future_frames * FRAME_SAMPLES
        self._brisk = _BRISK_FRAMES
        return self.push(np.zeros(missing, np.float32), now_s)

    def _follow(self, f0_hz: float | None, confidence: float) -> None:
        """Remember for how long one note, or none, has gone on."""
        self._unvoiced = self._unvoiced + 1 if f0_hz is None else 0
        if f0_hz is None or confidence < _STEADY_SURE:
            self._run.clear()
        else:
            self._run.append(1200.0 * math.log2(f0_hz))

    def _weigh(self) -> None:
        """Follow the level of the newest whole frames; a rise makes the tracker brisk."""
        past = self._engine.past_frames
        while (self._weighed - self._frames + past + 1) * FRAME_SAMPLES <= len(self._held):
            first = (self._weighed - self._frames + past) * FRAME_SAMPLES
            frame = self._held[first : first + FRAME_SAMPLES]
            steps = frame[1:] - frame[:-1]
            level, upper = float(np.dot(frame, frame)), float(np.dot(steps, steps))
            if self._levels:
                mean_level = sum(each for each, _ in self._levels) / len(self._levels)
                mean_upper = sum(each for _, each in self._levels) / len(self._levels)
                if level > _RISE * mean_level or upper > _UPPER_RISE * mean_upper:
                    self._brisk = _BRISK_FRAMES
            self._levels.append((level, upper))
            self._weighed += 1

    def _ask(self, count: int, now_s: float) -> list[F0Frame]:
        window = np.ascontiguousarray(self._held[: (self._around + count) * FRAME_SAMPLES])
        frames = []
        for found in self._engine.estimate(window):
            sure = found.confidence >= self._engine.voiced_from
            voiced = sure and self._lowest <= found.f0_hz <= self._highest
            f0_hz = found.f0_hz if voiced else None
            frames.append(F0Frame(self._frames * FRAME_S, f0_hz, found.confidence, voiced, now_s))
            self._frames += 1
            self._follow(f0_hz, found.confidence)
        self._held = self._held[count * FRAME_SAMPLES :]
        self._brisk = max(0, self._brisk - count)
        return frames
