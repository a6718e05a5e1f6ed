"""The `AudioOutput` port: a worker mixes ahead into a ring, the callback copies out of it."""

import threading
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from coach.audio.block_times import BlockTimes
from coach.audio.mixer import BufferSource, Mixer, Source, Voice
from coach.audio.resample import resampled
from coach.audio.ring import SampleRing
from coach.audio.steady import steady_s
from coach.audio.streams.kept import KeptStream
from coach.audio.streams.system import LiveStream, SoundSystem
from coach.sessions.ports import HandedSound, Samples, SoundDevice, StreamState

AHEAD_S = 0.100
"""How far the worker mixes ahead, besides twice the largest block the device has asked for."""

START_AHEAD_S = 0.3
"""What lies ready when the stream starts: a device first fills its own buffer at one go."""

_BLOCK_S = 0.010
_REST_S = 0.004
_RING_S = 2.0
MOST_HANDED_S = 1.5
"""So much of the past is safe in the ring from the worker who mixes ahead."""


class Speaker:
    """An output at its device's own rate.

    Parameters
    ----------
    system
        The sound system.
    choose
        Finds the device; asked at each opening.
    clock_s
        The steady clock.
    """

    def __init__(
        self, system: SoundSystem, choose: Callable[[], SoundDevice], clock_s: Callable[[], float] = steady_s
    ) -> None:
        self._system = system
        self._clock_s = clock_s
        self._kept = KeptStream(
            system, choose, self._begin, lambda: self._times.count, clock_s, self._returned
        )
        self._closing = threading.Event()
        self._worker: threading.Thread | None = None
        self._clear()
        self._ring = SampleRing(2, 2)
        self._mixer = Mixer(48_000)
        self._volume_db = 0.0

    def _clear(self) -> None:
        self._rate_hz = 0
        self._times = BlockTimes()
        self._largest = 0
        self._underruns = 0

    @property
    def underruns(self) -> int:
        """Blocks that came too late since opening."""
        return self._underruns

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
        """From handing a sample to the device to hearing it, as the device tells it."""
        return self._kept.latency_s

    @property
    def sounding(self) -> bool:
        """Whether anything is heard now, the device's own delay included."""
        if self.state not in {StreamState.RUNNING, StreamState.WAITING}:
            return False
        late = round(self._kept.latency_s * self._rate_hz)
        return self._mixer.busy or self._heard() < self._mixer.sound_end + late

    def open(self) -> None:
        """Start the stream; ``DeviceError`` if there is no output. Harmless when open."""
        if self._kept.state is not StreamState.CLOSED:
            return
        self._clear()
        self._kept.open()
        self._closing.clear()
        self._worker = threading.Thread(target=self._work, name="mixer", daemon=True)
        self._worker.start()

    def play(self, samples: Samples, rate_hz: int, *, gain_db: float = 0.0, loop: bool = False) -> Voice:
        """Begin a sound at once, mono or stereo; opens the output if need be."""
        self.open()
        here = resampled(np.asarray(samples, np.float32), rate_hz, self._rate_hz)
        stereo = np.repeat(here[:, None], 2, axis=1) if here.ndim == 1 else here
        source = BufferSource(stereo, self._rate_hz, loop=loop)
        return self.play_source(
            source, gain_db=gain_db, loop_s=stereo.shape[0] / self._rate_hz if loop else None
        )

    def play_source(
        self,
        source: Source,
        *,
        gain_db: float = 0.0,
        loop_s: float | None = None,
        fade_in_s: float | None = None,
    ) -> Voice:
        """Begin a sound made as it is played, at `rate_hz`; its ``read`` runs on the mixing thread."""
        self.open()
        return self._mixer.add(
            source, gain_db=gain_db, loop_s=loop_s, heard_frames=self._heard, fade_in_s=fade_in_s
        )

    def handed(self, seconds: float) -> HandedSound:
        """The last of what was handed to the device, at most 1.5 s (less after opening)."""
        begin, samples = self._ring.past(round(min(seconds, MOST_HANDED_S) * self._rate_hz))
        began_s = self._times.zero_s(self._rate_hz) + begin / max(1, self._rate_hz) + self._kept.offset_s
        return HandedSound(samples.mean(axis=1, dtype=np.float32), began_s)

    def set_volume(self, gain_db: float) -> None:
        """How loud everything together is, at most 0 dB; from now on."""
        self._volume_db = min(gain_db, 0.0)
        self._mixer.set_volume(self._volume_db)

    def silence(self) -> None:
        """Fade everything out."""
        self._mixer.silence()

    def close(self) -> None:
        """Stop the stream; harmless when closed."""
        self._closing.set()
        if self._worker is not None:
            self._worker.join()
            self._worker = None
        self._kept.close()

    def fill(self, ahead_s: float = AHEAD_S) -> None:
        """Mix until enough is ahead."""
        ahead = max(round(ahead_s * self._rate_hz), 2 * self._largest)
        block = max(1, round(_BLOCK_S * self._rate_hz))
        while self._ring.waiting < min(ahead, self._ring.size - block):
            self._ring.write(self._mixer.render(block))

    def _begin(self, device: SoundDevice) -> LiveStream:
        if device.rate_hz != self._rate_hz:
            self._rate_hz = device.rate_hz
            self._ring = SampleRing(round(_RING_S * device.rate_hz), 2)
            self._mixer = Mixer(device.rate_hz)
            self._mixer.set_volume(self._volume_db)
        if self._worker is None:
            self.fill(START_AHEAD_S)
        return self._system.open_output(device, min(2, device.outputs), self._wants)

    def _heard(self) -> int:
        """Frames handed to the device: blocks are large, so it is reckoned by the clock between them."""
        now_s = self._clock_s() - self._kept.offset_s
        reckoned = (now_s - self._times.zero_s(self._rate_hz)) * self._rate_hz
        return max(0, min(round(reckoned), self._ring.taken))

    def _returned(self, _silent_s: float) -> None:
        self._times.restart()

    def _wants(self, out: NDArray[np.float32], card_s: float, ran_dry: bool) -> None:  # noqa: FBT001
        """The callback: copies and counts, nothing else."""
        self._times.note(self._ring.taken, card_s)
        count = out.shape[0]
        self._largest = max(self._largest, count)
        if out.shape[1] == 2:
            done = self._ring.read_into(out)
            out[done:] = 0.0
        else:
            done = self._one_channel(out)
        if done < count or ran_dry:
            self._underruns += 1

    def _one_channel(self, out: NDArray[np.float32]) -> int:
        both = np.zeros((out.shape[0], 2), np.float32)
        done = self._ring.read_into(both)
        np.mean(both, axis=1, keepdims=True, out=out)
        return done

    def _work(self) -> None:
        while not self._closing.wait(_REST_S):
            self.fill()
