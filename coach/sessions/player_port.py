"""The port of the workbench's player: a section in a loop, slowed, shifted, one moment held."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from coach.sessions.ports import Emphasis, Samples
from coach.tones.prompt import PromptNote


@dataclass(frozen=True, slots=True)
class LoopPart:
    """What is to be played over and over.

    Parameters
    ----------
    from_s, to_s
        Span of the recording, seconds.
    speed
        0.4 to 1.
    shift_semitones
        Key and tuning together, fractions allowed.
    emphasis
        What is made louder.
    clicks_s
        Places in the recording (seconds) where a click sounds; the first one of a bar stands in
        ``accents_s``, too.
    beside
        Notes that sound along on the right, in seconds of the recording, with the recording on the left;
        ``None`` without any: the recording as it is. Empty is a line without notes yet.
    count_in_s
        Seconds between the beats of the count-in as played (after slowing), one for each beat; it is
        counted once, before the first pass.
    """

    from_s: float
    to_s: float
    speed: float = 1.0
    shift_semitones: float = 0.0
    emphasis: Emphasis = Emphasis.ALL
    clicks_s: tuple[float, ...] = ()
    accents_s: tuple[float, ...] = ()
    count_in_s: tuple[float, ...] = ()
    beside: tuple[PromptNote, ...] | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.from_s < self.to_s:
            raise ValueError(f"a loop from {self.from_s} to {self.to_s} s is none")

    @property
    def plain(self) -> bool:
        """Whether it is the recording as it is: nothing to render."""
        return self.speed == 1.0 and self.shift_semitones == 0.0 and self.emphasis is Emphasis.ALL


class PlayerState(StrEnum):
    """What the player is doing."""

    STOPPED = "stopped"
    PREPARING = "preparing"
    """The sound is being made; it begins in a moment."""
    PLAYING = "playing"
    HOLDING = "holding"
    """One moment sounds on."""
    LOST = "lost"
    """The output device went away; the player goes on where it was when it is back."""


class LoopPlayer(Protocol):
    """Plays parts of one recording."""

    @property
    def state(self) -> PlayerState:
        """What it is doing."""
        ...

    @property
    def position_s(self) -> float | None:
        """Place in the recording that is heard now, seconds; ``None`` when stopped or counting in."""
        ...

    @property
    def best(self) -> bool:
        """Whether the finer rendering is heard already (a quick one is, until it is ready)."""
        ...

    def load(self, stereo: Samples, rate_hz: int, name: str) -> None:
        """Take a recording, shape (n, 2); ``name`` (its hash) tells it apart in the cache. Stops."""
        ...

    def play(self, part: LoopPart) -> None:
        """Loop a part; while another is playing, go over to it at the place that is heard now.

        Raises
        ------
        DeviceError
            If there is no output.
        """
        ...

    def hold(self) -> None:
        """Let the moment that is heard now sound on, until `release` or `stop`."""
        ...

    def release(self) -> None:
        """Go on where it was held."""
        ...

    def stop(self) -> None:
        """Fade out."""
        ...

    def set_volume(self, gain_db: float) -> None:
        """How loud, against full scale; at most 0 dB."""
        ...

    def close(self) -> None:
        """Stop, and end what works in the background; the output stays open."""
        ...
