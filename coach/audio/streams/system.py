"""What the streams need of a sound system, as a protocol, so that tests can break devices at will."""

from collections.abc import Callable
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coach.sessions.ports import SoundDevice

Arrives = Callable[[NDArray[np.float32], float], None]
"""Takes a block of shape (n, channels) and the card's time of its first sample."""

Wants = Callable[[NDArray[np.float32], float, bool], None]
"""Fills a block of shape (n, channels); told the card's time now and whether it ran dry before."""


class LiveStream(Protocol):
    """A started stream."""

    @property
    def time_s(self) -> float:
        """The sound card's clock now."""
        ...

    @property
    def latency_s(self) -> float:
        """From the program to the plug, or back."""
        ...

    def close(self) -> None:
        """Stop at once and let go of the device."""
        ...


class SoundSystem(Protocol):
    """Devices and how to open them; everything may raise ``DeviceError``."""

    def devices(self) -> tuple[SoundDevice, ...]:
        """All devices."""
        ...

    def refresh(self) -> None:
        """Look for devices anew (one was plugged in again)."""
        ...

    def open_input(self, device: SoundDevice, arrives: Arrives) -> LiveStream:
        """Open and start a microphone, mono, at the device's rate."""
        ...

    def open_output(self, device: SoundDevice, channels: int, wants: Wants) -> LiveStream:
        """Open and start an output at the device's rate."""
        ...
