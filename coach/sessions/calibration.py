"""Calibration: the sound's way to the microphone, measured anew after every opening of the devices.

It is measured on what the app sounds anyway, while the ear is deaf for it: nothing more is heard, and never
is the player's turn disturbed. Three measures that agree within 5 ms are believed; else it goes on measuring.
"""

from collections import deque
from collections.abc import Callable

import numpy as np

from coach.hearing.decimate import Decimator
from coach.hearing.frames import RATE_HZ
from coach.hearing.roundtrip import RoundTrip, find_sound, settled
from coach.sessions.ports import AudioInput, AudioOutput, Clock, HandedSound, InputBlock, StreamState

PLAYED_S = 1.5
"""What is compared: long enough for the changes of note that tell the moment."""
LONGEST_WAY_S = 0.7
"""Longer than wireless headphones need. Common practice, no source."""
MEASURES = 3
"""So many must agree."""
_AFTER_END_S = 0.15
"""A sound that has ended is looked for once this much silence was handed out after it, too."""
_QUIETEST = 10.0 ** (-70.0 / 20.0)
"""RMS amplitude (-70 dB) under which nothing was played that a microphone could take in."""


class Calibration:
    """Follows what sounds and what is taken in; driven by the listener's blocks.

    Parameters
    ----------
    output, microphone
        The devices, as opened by the studio.
    clock
        The steady clock that both refer to.
    tell
        Told the round trip in seconds, once after each opening.
    watches
        Whether it measures by itself, or only when asked by `begin`.
    """

    def __init__(
        self,
        output: AudioOutput,
        microphone: AudioInput,
        clock: Clock,
        tell: Callable[[float], None],
        *,
        watches: bool = True,
    ) -> None:
        self._output, self._microphone, self._clock, self._tell = output, microphone, clock, tell
        self._watches = watches
        self._decimator: Decimator | None = None
        self._taken = np.zeros(0, np.float32)
        self._next = -1
        self._sounds_since_s: float | None = None
        self._ended_s: float | None = None
        self._asked: HandedSound | None = None
        self._measures: deque[RoundTrip] = deque(maxlen=MEASURES)
        self.way_s: float | None = None
        """The round trip of this opening in seconds, ``None`` until it is known."""
        self.tries = 0
        """Sounds that were looked for since the beginning."""

    def begin(self) -> None:
        """Measure anew from now on, also with headphones."""
        self._forget()
        self._watches = True

    def hear(self, block: InputBlock) -> None:
        """Take the microphone's next block."""
        running = self._output.state is StreamState.RUNNING
        if not running or block.first != self._next:
            self._forget()  # a device was opened, or opened again: its way is another one
        self._next = block.first + len(block.samples)
        if not running or not self._watches or self.way_s is not None:
            return
        if self._decimator is None:
            self._decimator = Decimator(self._microphone.rate_hz)
        most = round((PLAYED_S + 2.0 * LONGEST_WAY_S) * RATE_HZ)
        self._taken = np.concatenate([self._taken, self._decimator.push(block.samples)])[-most:]
        end_s = block.captured_s + len(block.samples) / self._microphone.rate_hz
        if self._asked is None:
            self._asked = self._sound_to_find()
        elif end_s >= self._asked.began_s + PLAYED_S + LONGEST_WAY_S:
            self._look(self._asked, end_s)
            self._asked = None

    def _sound_to_find(self) -> HandedSound | None:
        """What was just handed out, once there is enough of it or it is over."""
        now_s = self._clock.steady_s()
        if self._output.sounding:
            self._sounds_since_s = now_s if self._sounds_since_s is None else self._sounds_since_s
            self._ended_s = None
            ready = now_s - self._sounds_since_s >= PLAYED_S
        else:
            self._ended_s = now_s if self._ended_s is None else self._ended_s
            ready = self._sounds_since_s is not None and now_s - self._ended_s >= _AFTER_END_S
        if not ready:
            return None
        self._sounds_since_s = None
        handed = self._output.handed(PLAYED_S)
        loud = len(handed.samples) and float(np.sqrt(np.mean(handed.samples**2))) > _QUIETEST
        return handed if loud else None

    def _look(self, handed: HandedSound, end_s: float) -> None:
        self.tries += 1
        decimator = Decimator(self._output.rate_hz)
        played = np.concatenate([decimator.push(handed.samples), decimator.flush()])
        begin = len(self._taken) - round((end_s - handed.began_s) * RATE_HZ)
        if begin < 0:
            return
        most = len(played) + round(LONGEST_WAY_S * RATE_HZ)
        found = find_sound(self._taken[begin : begin + most], played, RATE_HZ)
        if found is None:
            return
        self._measures.append(found)
        if len(self._measures) == MEASURES:
            self.way_s = settled(self._measures)
            if self.way_s is not None:
                self._tell(self.way_s)

    def _forget(self) -> None:
        self._taken = np.zeros(0, np.float32)
        self._decimator = None
        self._measures.clear()
        self._asked = self._sounds_since_s = self._ended_s = None
        self.way_s = None
