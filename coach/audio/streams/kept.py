"""A stream that is opened again when its device has died."""

import threading
from collections.abc import Callable
from contextlib import suppress

from coach.audio.streams.portaudio import with_rate
from coach.audio.streams.system import LiveStream, SoundSystem
from coach.audio.watchdog import Advice, Watchdog
from coach.errors import DeviceError
from coach.sessions.ports import SoundDevice, StreamState

_LOOK_S = 0.1
_STALLED_S = 0.3
"""Who wakes so late was kept from running, and so were the callbacks (our own choice)."""
_OTHER_RATES_HZ = (48_000, 44_100)
"""Tried where a device refuses the rate it names as its own."""


class KeptStream:
    """One live stream and its watchdog.

    Parameters
    ----------
    system
        The sound system.
    choose
        Finds the device to open.
    begin
        Opens and starts the stream on a device.
    callbacks
        How many callbacks have come so far.
    steady_s
        The steady clock.
    reopened
        Told after each opening again, with the seconds that the stream was silent.
    """

    def __init__(
        self,
        system: SoundSystem,
        choose: Callable[[], SoundDevice],
        begin: Callable[[SoundDevice], LiveStream],
        callbacks: Callable[[], int],
        steady_s: Callable[[], float],
        reopened: Callable[[float], None] = lambda _silent_s: None,
    ) -> None:
        self._system = system
        self._choose, self._begin = choose, begin
        self._callbacks, self._steady_s, self._reopened = callbacks, steady_s, reopened
        self._stream: LiveStream | None = None
        self._watchdog: Watchdog | None = None
        self._lost_s: float | None = None
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None
        self._rate_hz = 0
        self.offset_s = 0.0
        """Steady clock minus the stream's clock."""
        self.latency_s = 0.0

    @property
    def state(self) -> StreamState:
        """What the stream is doing."""
        return self._watchdog.state if self._watchdog is not None else StreamState.CLOSED

    def open(self, *, watched: bool = True) -> None:
        """Open and start it; ``DeviceError`` if that fails. A thread looks after it unless told otherwise."""
        device = self._choose()
        rates_hz = (device.rate_hz, *(rate for rate in _OTHER_RATES_HZ if rate != device.rate_hz))
        for number, rate_hz in enumerate(rates_hz):
            try:
                self._started(with_rate(device, rate_hz))
                break
            except DeviceError:
                if number == len(rates_hz) - 1:
                    raise
        self._watchdog = Watchdog(self._steady_s())
        self._lost_s = None
        self._closing.clear()
        if watched:
            self._thread = threading.Thread(target=self._watch, name="stream-watchdog", daemon=True)
            self._thread.start()

    def close(self) -> None:
        """Stop; harmless when closed."""
        self._closing.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None
        self._let_go()
        self._watchdog = None

    def look(self) -> None:
        """Open the stream again if it has died."""
        if self._watchdog is None:
            return
        now_s = self._steady_s()
        if self._watchdog.look(now_s, self._callbacks()) is Advice.GO_ON:
            if self._watchdog.state is StreamState.RUNNING:
                self._follow_clock()
                self._tell_return(now_s)
            return
        self._lost_s = now_s if self._lost_s is None else self._lost_s
        try:
            self._let_go()
            self._system.refresh()
            self._started(with_rate(self._choose(), self._rate_hz))
        except DeviceError:
            self._watchdog.failed(self._steady_s(), self._callbacks())
        else:
            self._watchdog.opened(self._steady_s(), self._callbacks())

    def _started(self, device: SoundDevice) -> None:
        self._stream = self._begin(device)
        self._rate_hz = device.rate_hz
        self.latency_s = self._stream.latency_s
        self._follow_clock()

    def _follow_clock(self) -> None:
        if self._stream is not None:
            with suppress(DeviceError):  # the watchdog will notice
                self.offset_s = self._steady_s() - self._stream.time_s

    def _tell_return(self, now_s: float) -> None:
        if self._lost_s is not None:
            self._reopened(now_s - self._lost_s)
            self._lost_s = None

    def _let_go(self) -> None:
        if self._stream is not None:
            stream, self._stream = self._stream, None
            with suppress(DeviceError):
                stream.close()

    def _watch(self) -> None:
        before_s = self._steady_s()
        while not self._closing.wait(_LOOK_S):
            waited_s = self._steady_s() - before_s
            if waited_s > _STALLED_S and self._watchdog is not None:
                self._watchdog.stood_still(waited_s)
            self.look()
            before_s = self._steady_s()
