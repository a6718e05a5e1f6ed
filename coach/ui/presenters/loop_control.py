"""The workbench's loop: which bars sound, how fast, what is louder."""

from collections.abc import Callable

from coach.sessions.player_port import LoopPart, LoopPlayer, PlayerState
from coach.sessions.ports import Emphasis
from coach.ui.presenters.drawn import Loop

FIRST_SPEED = 0.7
_SOUNDING = frozenset({PlayerState.PLAYING, PlayerState.PREPARING, PlayerState.HOLDING})


class LoopControl:
    """Keeps what the player has set, and tells the player of sound.

    Parameters
    ----------
    player
        Gives the player, ``None`` where nothing can sound.
    span
        Gives from and to, in seconds of the recording, of a loop.
    shift_semitones
        By which the recording is played shifted: key and tuning together.
    """

    def __init__(
        self,
        player: Callable[[], LoopPlayer | None],
        span: Callable[[Loop], tuple[float, float]],
        shift_semitones: float,
        emphasis: Emphasis,
    ) -> None:
        self._player, self._span, self._shift = player, span, shift_semitones
        self.loop = Loop(0, 0)
        self.speed = FIRST_SPEED
        self.emphasis = emphasis

    @property
    def can_sound(self) -> bool:
        """Whether there is a loudspeaker."""
        return self._player() is not None

    @property
    def playing(self) -> bool:
        """Whether the loop sounds, or will in a moment."""
        player = self._player()
        return player is not None and player.state in _SOUNDING

    @property
    def holding(self) -> bool:
        """Whether one moment is held."""
        player = self._player()
        return player is not None and player.state is PlayerState.HOLDING

    @property
    def position_s(self) -> float | None:
        """Where the recording sounds now, in seconds."""
        player = self._player()
        return player.position_s if player is not None else None

    def play_or_stop(self) -> None:
        """Start or stop the loop."""
        if self.playing:
            self.stop()
        else:
            self._start()

    def hold_or_release(self) -> None:
        """Let the moment that is heard now sound on, or go on from it."""
        player = self._player()
        if player is None or not self.playing:
            return
        if self.holding:
            player.release()
        else:
            player.hold()

    def change(
        self, *, loop: Loop | None = None, speed: float | None = None, emphasis: Emphasis | None = None
    ) -> None:
        """Set another loop, speed or emphasis; what sounds goes over to it."""
        self.loop = loop or self.loop
        self.speed = speed or self.speed
        self.emphasis = emphasis or self.emphasis
        if self.playing:
            self._start()

    def stop(self) -> None:
        """Fade out."""
        player = self._player()
        if player is not None:
            player.stop()

    def _start(self) -> None:
        player = self._player()
        if player is not None:
            from_s, to_s = self._span(self.loop)
            player.play(LoopPart(max(0.0, from_s), to_s, self.speed, self._shift, self.emphasis))
