"""The workbench's loop: which bars sound, how fast, what is louder, with or without click and count-in."""

from collections.abc import Callable

from coach.sessions.player_port import LoopPart, LoopPlayer, PlayerState
from coach.sessions.ports import Emphasis
from coach.tones.prompt import PromptNote
from coach.ui.presenters.device_watch import DeviceWatch
from coach.ui.presenters.drawn import Loop
from coach.ui.presenters.loop_beats import LoopBeats

FIRST_SPEED = 0.7
LOUDEST_DB = 0.0
"""Nothing is played louder than it was recorded."""
_SOUNDING = frozenset({PlayerState.PLAYING, PlayerState.PREPARING, PlayerState.HOLDING, PlayerState.LOST})


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
    beats
        Gives the beats of a loop, for click and count-in.
    beside
        Gives the written line in seconds of the recording, to be heard apart from it.
    volume_db
        How loud at most, as the player has set it.
    """

    def __init__(
        self,
        player: Callable[[], LoopPlayer | None],
        span: Callable[[Loop], tuple[float, float]],
        shift_semitones: float,
        emphasis: Emphasis,
        *,
        beats: Callable[[Loop], LoopBeats],
        beside: Callable[[], tuple[PromptNote, ...]],
        volume_db: float,
    ) -> None:
        self._player, self._span, self._shift, self._beats = player, span, shift_semitones, beats
        self._beside = beside
        self.volume_db = min(LOUDEST_DB, volume_db)
        self.loop = Loop(0, 0)
        self.speed = FIRST_SPEED
        self.emphasis = emphasis
        self.click = self.count_in = self.apart = False
        self._watch = DeviceWatch(player)

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

    def device_words(self) -> str | None:
        """What there is to say of a loudspeaker that went away or came back; ``None``: nothing new."""
        return self._watch.words()

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

    def beat(self, *, click: bool | None = None, count_in: bool | None = None) -> None:
        """Let a click sound on the beats or not, count a bar in before the first time round or not."""
        self.click = self.click if click is None else click
        self.count_in = self.count_in if count_in is None else count_in
        if self.playing and click is not None:
            self._start()

    def set_apart(self, *, on: bool) -> None:
        """Let the written line sound on the right and the recording on the left, or the recording alone."""
        if on != self.apart:
            self.apart = on
            self._go_over()

    def line_changed(self) -> None:
        """The written line is another one: it is heard as it is now."""
        if self.apart:
            self._go_over()

    def _go_over(self) -> None:
        """Sound as it is set now; a held moment stays."""
        if self.playing and not self.holding:
            self._start()

    def stop(self) -> None:
        """Fade out."""
        player = self._player()
        if player is not None:
            player.stop()

    def _start(self) -> None:
        player = self._player()
        if player is None:
            return
        from_s, to_s = self._span(self.loop)
        beats = self._beats(self.loop) if self.click or self.count_in else LoopBeats()
        player.set_volume(self.volume_db)
        player.play(
            LoopPart(
                max(0.0, from_s),
                to_s,
                self.speed,
                self._shift,
                self.emphasis,
                beside=self._beside() if self.apart else None,
                clicks_s=beats.clicks_s if self.click else (),
                accents_s=beats.accents_s if self.click else (),
                count_in_s=tuple(gap / self.speed for gap in beats.count_in_s) if self.count_in else (),
            )
        )
