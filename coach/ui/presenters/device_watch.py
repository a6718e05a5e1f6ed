"""A loudspeaker that goes away and comes back while the recording sounds: what to say, and when."""

from collections.abc import Callable

from coach.sessions.player_port import LoopPlayer, PlayerState

NO_SOUND = "There is no loudspeaker: connect one, or choose another in set-up, under “What you hear”."
LOST_WORDS = "The loudspeaker went away. Plug it in: the music goes on by itself where it was."
BACK_WORDS = "The loudspeaker is back."


class DeviceWatch:
    """Asked now and then by a screen; says each change once.

    Parameters
    ----------
    player
        Gives the player, ``None`` where nothing can sound.
    """

    def __init__(self, player: Callable[[], LoopPlayer | None]) -> None:
        self._player = player
        self._lost = False

    def words(self) -> str | None:
        """What is new, ``None`` where nothing is."""
        player = self._player()
        lost = player is not None and player.state is PlayerState.LOST
        if lost == self._lost:
            return None
        self._lost = lost
        if lost:
            return LOST_WORDS
        return BACK_WORDS if player is not None and player.state is not PlayerState.STOPPED else None
