"""Adds up the sounds under way; knows no device."""

from collections.abc import Callable
from typing import Protocol

import numpy as np

from coach.audio.fades import rising
from coach.audio.limiter import Limiter
from coach.sessions.ports import Samples

FADE_IN_S = 0.003
"""Long enough that a sound beginning in the middle of a wave does not click."""

LOOP_FADE_IN_S = 0.300
"""A recording starts quietly: nobody is startled by a loop that is louder than expected."""

FADE_OUT_S = 0.025
"""At once to the ear, and without a click."""
SEAM_S = 0.005
"""Over which the end of a loop goes over into its beginning."""
MOST_GAIN_DB = 12.0
"""A sound may be made louder by so much; the limiter catches what goes over."""


def linear(gain_db: float) -> float:
    """A gain as a factor, capped at `MOST_GAIN_DB`."""
    return float(10.0 ** (min(gain_db, MOST_GAIN_DB) / 20.0))


class Source(Protocol):
    """Gives a sound's next samples at the device's rate."""

    def read(self, count: int) -> Samples:
        """The next ``count`` frames, shape (n, 2); fewer at its end."""
        ...


class BufferSource:
    """A sound in memory, once or in a loop.

    A loop's period is exactly its length. At its seam the sound before it, mirrored, fades out over the
    beginning, so that there is neither a step nor a hole.
    """

    def __init__(self, stereo: Samples, rate_hz: int, *, loop: bool) -> None:
        self._stereo = stereo
        self._loop = loop and stereo.shape[0] > 0
        self._at = 0
        seam = min(round(SEAM_S * rate_hz), stereo.shape[0] // 4)
        fade = rising(seam)
        mirrored = stereo[::-1][:seam]
        self._seam = stereo[:seam] * fade + mirrored * (1.0 - fade)

    def read(self, count: int) -> Samples:
        """The next frames."""
        parts: list[Samples] = []
        while count > 0:
            part = self._run(count)
            if part.shape[0] == 0:
                break
            parts.append(part)
            count -= part.shape[0]
            self._at += part.shape[0]
        return np.concatenate(parts) if parts else np.zeros((0, 2), np.float32)

    def _run(self, most: int) -> Samples:
        length, seam = self._stereo.shape[0], self._seam.shape[0]
        if not self._loop:
            return self._stereo[self._at : self._at + most]
        at = self._at % length
        if self._at >= length and at < seam:
            return self._seam[at : at + most]
        return self._stereo[at : at + most]


class Voice:
    """One sound in the mix, with its gain and fades; also the `Sound` port.

    Parameters
    ----------
    source
        Where its samples come from.
    gain_db
        At most `MOST_GAIN_DB`.
    fade_in, fade_out
        In samples.
    loop_s
        Length of its loop in seconds, ``None`` if it is none.
    heard_frames
        Frames of the mix already handed to the device.
    """

    def __init__(
        self,
        source: Source,
        *,
        gain_db: float,
        fade_in: int,
        fade_out: int,
        rate_hz: int,
        loop_s: float | None,
        heard_frames: Callable[[], int],
    ) -> None:
        self._source = source
        self._gain = self._next_gain = linear(gain_db)
        self._fade_in, self._fade_out = fade_in, fade_out
        self._rate_hz = rate_hz
        self._loop_s = loop_s
        self._heard_frames = heard_frames
        self._stopping = False
        self._faded = 0
        self._given = 0
        self._first: int | None = None
        self.end: int | None = None
        """Frame of the mix after its last one, once known."""

    @property
    def playing(self) -> bool:
        """Whether any of it is still to be heard."""
        return self.end is None or self._heard_frames() < self.end

    @property
    def position_s(self) -> float:
        """Seconds already handed to the device, within the loop for a loop."""
        if self._first is None:
            return 0.0
        heard = self._heard_frames() if self.end is None else min(self._heard_frames(), self.end)
        position_s = max(0, heard - self._first) / self._rate_hz
        return position_s % self._loop_s if self._loop_s else position_s

    def stop(self) -> None:
        """Fade out and end."""
        self._stopping = True

    def set_gain(self, gain_db: float) -> None:
        """Go over to another gain within the next block."""
        self._next_gain = linear(gain_db)

    def add_to(self, mix: Samples, at: int) -> None:
        """Add its next samples to a block of the mix that begins at frame ``at``."""
        if self._first is None:
            self._first = at
        block = self._source.read(mix.shape[0])
        count = block.shape[0]
        gains = np.linspace(self._gain, self._next_gain, count, dtype=np.float32)[:, None]
        self._gain = self._next_gain
        block = block * gains
        if self._given < self._fade_in:
            rise = (self._given + np.arange(count, dtype=np.float32)) / self._fade_in
            block = block * np.minimum(rise, 1.0)[:, None]
        if self._stopping:
            fall = 1.0 - (self._faded + np.arange(count, dtype=np.float32)) / self._fade_out
            block = block * np.maximum(fall, 0.0)[:, None]
            self._faded += count
        self._given += count
        mix[:count] += block
        if count < mix.shape[0] or (self._stopping and self._faded >= self._fade_out):
            self.end = at + count


class Mixer:
    """All voices of one output, added, limited.

    Parameters
    ----------
    rate_hz
        Samples a second.
    """

    def __init__(self, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        self._limiter = Limiter(rate_hz)
        self._volume = self._next_volume = 1.0
        self._voices: list[Voice] = []
        self._coming: list[Voice] = []
        self.made = 0
        """Frames mixed so far."""
        self.sound_end = 0
        """Frame after the last one that is not silent, as far as mixed."""

    @property
    def busy(self) -> bool:
        """Whether any voice has more to give."""
        return bool(self._voices or self._coming)

    def add(
        self,
        source: Source,
        *,
        gain_db: float,
        loop_s: float | None,
        heard_frames: Callable[[], int],
        fade_in_s: float | None = None,
    ) -> Voice:
        """Begin a sound with the next block; from any thread."""
        usual_s = FADE_IN_S if loop_s is None else LOOP_FADE_IN_S
        fade_in_s = usual_s if fade_in_s is None else fade_in_s
        voice = Voice(
            source,
            gain_db=gain_db,
            fade_in=max(1, round(fade_in_s * self._rate_hz)),
            fade_out=max(1, round(FADE_OUT_S * self._rate_hz)),
            rate_hz=self._rate_hz,
            loop_s=loop_s,
            heard_frames=heard_frames,
        )
        self._coming.append(voice)
        return voice

    def set_volume(self, gain_db: float) -> None:
        """How loud everything together is, at most 0 dB; changed over the next block."""
        self._next_volume = linear(min(gain_db, 0.0))

    def silence(self) -> None:
        """Fade everything out."""
        for voice in (*self._voices, *self._coming):
            voice.stop()

    def render(self, count: int) -> Samples:
        """The next block of the mix, shape (count, 2); by one thread only."""
        while self._coming:
            self._voices.append(self._coming.pop(0))
        mix = np.zeros((count, 2), np.float32)
        for voice in self._voices:
            voice.add_to(mix, self.made)
        self.made += count
        ends = [voice.end if voice.end is not None else self.made for voice in self._voices]
        self.sound_end = max([self.sound_end, *(end + self._limiter.delay for end in ends)])
        self._voices = [voice for voice in self._voices if voice.end is None]
        before, self._volume = self._volume, self._next_volume
        if before != self._volume:
            mix *= np.linspace(before, self._volume, count, dtype=np.float32)[:, None]
        elif before != 1.0:
            mix *= np.float32(before)
        return self._limiter.push(mix)
