"""The `AudioInput` port: what the microphone hears waits in a ring."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from coach.audio.block_times import BlockTimes
from coach.audio.ring import SampleRing
from coach.audio.steady import steady_s
from coach.audio.streams.kept import KeptStream
from coach.audio.streams.system import LiveStream, SoundSystem
from coach.sessions.ports import InputBlock, Samples, SoundDevice, StreamState

RING_FRAMES = 1 << 20
"""22 s at 48 kHz: enough for drawing, and for a reader that was held up."""

MOST_GAP_S = 2.0
"""A longer loss of the device is counted as this much: nobody needs a minute of silence afterwards."""


class Microphone:
    """A microphone at its device's own rate.

    Parameters
    ----------
    system
        The sound system.
    choose
        Finds the device; asked at each opening.
    clock_s
        The steady clock that ``captured_s`` refers to.
    """

    def __init__(
        self, system: SoundSystem, choose: Callable[[], SoundDevice], clock_s: Callable[[], float] = steady_s
    ) -> None:
        self._system = system
        self._kept = KeptStream(
            system, choose, self._begin, lambda: self._times.count, clock_s, reopened=self._skip_silence
        )
        self._clear()

    def _clear(self) -> None:
        self._ring = SampleRing(RING_FRAMES, 1)
        self._times = BlockTimes()
        self._rate_hz = 0
        self._skipped = 0
        self._breaks: list[tuple[int, int]] = []

    @property
    def rate_hz(self) -> int:
        """Samples a second; 0 before the first opening."""
        return self._rate_hz

    @property
    def state(self) -> StreamState:
        """What the stream is doing."""
        return self._kept.state

    @property
    def latency_s(self) -> float:
        """From the plug to the samples, as the device tells it."""
        return self._kept.latency_s

    def open(self) -> None:
        """Start capturing; ``DeviceError`` if there is no microphone. Harmless when open."""
        if self._kept.state is StreamState.CLOSED:
            self._clear()
            self._kept.open()

    def take(self) -> InputBlock | None:
        """All that came since the last call."""
        most: int | None = None
        if self._breaks:
            place, skipped = self._breaks[0]
            if self._ring.taken >= place:
                self._breaks.pop(0)
                self._skipped += skipped
            else:
                most = place - self._ring.taken
        begin, samples = self._ring.take(most)
        if samples.shape[0] == 0:
            return None
        return InputBlock(samples[:, 0], begin + self._skipped, self._captured_s(begin))

    def recent(self, count: int) -> Samples:
        """The last samples, without taking them."""
        return self._ring.latest(count)[:, 0]

    def close(self) -> None:
        """Stop capturing; what was captured can still be taken."""
        self._kept.close()

    def _begin(self, device: SoundDevice) -> LiveStream:
        self._rate_hz = device.rate_hz
        return self._system.open_input(device, self._arrives)

    def _arrives(self, block: NDArray[np.float32], card_s: float) -> None:
        """The callback: copies and counts, nothing else."""
        self._times.note(self._ring.written, card_s)
        self._ring.write(block)

    def _captured_s(self, frame: int) -> float:
        return self._times.zero_s(self._rate_hz) + frame / self._rate_hz + self._kept.offset_s

    def _skip_silence(self, silent_s: float) -> None:
        """After a loss the sample numbers jump, so that the reader's time goes on."""
        self._times.restart()
        self._breaks.append((self._ring.written, round(min(silent_s, MOST_GAP_S) * self._rate_hz)))
