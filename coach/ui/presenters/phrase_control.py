"""Capturing a phrase at the workbench: along with the loop, or right after it."""

from coach.notation import LineKind, Note
from coach.practice.piece_state import PieceState
from coach.sessions.piece.phrase_capture import PhraseCapture, SilentPass, written
from coach.sessions.practice_room import PracticeRoom
from coach.ui.presenters.loop_control import LoopControl

ALONG = "Sing or play along. Press the big button when you have it."
LISTEN_FIRST = "Listen once: then it is your turn, at the same speed."
YOUR_TURN = "Your turn: sing or play it. The line shows where you are."
BREATH_S = 1.0
"""Between the loudspeaker's silence and the player's first note: longer than the ear stays closed."""


class PhraseControl:
    """Leads through hearing a phrase and giving it back.

    With headphones the ear is open while the loop sounds. On a loudspeaker the loop sounds once, falls
    silent, and its time goes on by a moving line alone: nothing of the recording can be heard as the player.
    """

    def __init__(self, room: PracticeRoom, sound: LoopControl) -> None:
        self._room, self._sound = room, sound
        self._capture: PhraseCapture | None = None
        self._silent: SilentPass | None = None
        self._waits = False
        self._span = (0.0, 0.0)
        self._last_s = -1.0

    @property
    def busy(self) -> bool:
        """Whether a phrase is awaited or heard."""
        return self._waits or self._capture is not None

    @property
    def over(self) -> bool:
        """Whether the silent pass has come to its end, its last note included."""
        return self._silent is not None and self._silent.over

    @property
    def sentence(self) -> str:
        """What to do now; empty while no phrase is taken."""
        if self._waits:
            return LISTEN_FIRST
        if self._capture is None:
            return ""
        return YOUR_TURN if self._silent is not None else ALONG

    @property
    def position_s(self) -> float | None:
        """Where the phrase is, in seconds of the recording."""
        return self._silent.position_s if self._silent is not None else self._sound.position_s

    def begin(self, span: tuple[float, float]) -> None:
        """Begin; ``DeviceError`` without a microphone."""
        studio = self._room.studio()
        self._span, self._last_s = span, -1.0
        if not self._sound.playing:
            self._sound.play_or_stop()
        if studio.deafness.headphones or not self._sound.playing:
            self._take()
        else:
            self._waits = True

    def turned(self) -> bool:
        """Notice that the loop has sounded once; true when it became the player's turn."""
        if not self._waits:
            return False
        at_s = self._sound.position_s
        wrapped = at_s is not None and at_s < self._last_s
        self._last_s = at_s if at_s is not None else self._last_s
        if not wrapped:
            return False
        self._waits = False
        self._sound.stop()
        clock, speed = self._room.services.clock, self._sound.speed
        self._silent = SilentPass(clock, *self._span, speed, lead_s=BREATH_S)
        self._take()
        return True

    def end(self, piece: PieceState, kind: LineKind, section: str) -> list[Note]:
        """End, and give what was heard as written notes."""
        capture, self._capture = self._capture, None
        self._waits, self._silent = False, None
        self._sound.stop()
        return written(piece, kind, capture.stop(), section) if capture is not None else []

    def cancel(self) -> None:
        """Leave without writing anything; what sounds falls silent."""
        if self.busy:
            self._sound.stop()
        if self._capture is not None:
            self._capture.stop()
        self._capture, self._silent, self._waits = None, None, False

    def _take(self) -> None:
        listener = self._room.studio().listener
        self._capture = PhraseCapture(listener, lambda: self.position_s)
