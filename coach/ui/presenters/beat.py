"""Putting the beat of the piece in hand right, beat by beat, after notes may have been written on it."""

from collections.abc import Callable

from typing_extensions import override

from coach.errors import CoachError
from coach.notation import LineKind
from coach.pieces.beat_marks import BeatMarks
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.material import grid_of
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.beat_control import BeatControl
from coach.ui.presenters.beat_view import BeatPageView
from coach.ui.presenters.piece_page import PiecePagePresenter
from coach.ui.presenters.view import Empty, Ready

STAYS = "Notes that you have written stay on their beats."
KEEP, BACK = "Keep these beats", "Back to the workbench"


class BeatPresenter(PiecePagePresenter[BeatPageView]):
    """The beats around one section.

    Parameters
    ----------
    room
        Journal, recording, player.
    section, kind
        The workbench that one came from and goes back to.
    """

    way_on = "choose"

    def __init__(
        self, room: PracticeRoom, section: str, kind: LineKind, later: UiCalls, jobs: JobRunner, go: Go
    ) -> None:
        opening, failure = "Opening the recording", "The recording could not be opened."
        super().__init__(room, section, later, jobs, go, opening=opening, failure=failure)
        self._kind = kind
        self._beat: BeatControl | None = None

    @override
    def opened(self) -> None:
        if self._state is None:
            self._show(Empty("There is no section to work on yet.", "Choose a piece"))
            return
        self._start(self._open, self._opened)

    def _open(self, jobs: Jobs) -> BeatControl:
        audio, piece = self._room.recording(jobs).audio, self._piece
        marks = BeatMarks.of(grid_of(piece), piece.meter, piece.pickup, audio.duration_s)
        return BeatControl(
            self._room.player,
            audio.mono,
            audio.rate_hz,
            marks,
            meter=str(piece.meter),
            pickup=piece.pickup,
            volume_db=self._settings.volume_db,
        )

    def _opened(self, beat: BeatControl) -> None:
        self._beat = beat
        state = self._state
        quarters = state.onset - self._piece.pickup if state is not None else 0
        beat.look_at(int(quarters // self._piece.meter.bar) + 1)
        self._refresh()

    @override
    def closed(self) -> None:
        """What was put right is kept, wherever one goes from here."""
        self.cancel()
        if self._beat is not None:
            self._beat.stop()
            self._keep(self._beat)

    def beat(self, change: Callable[[BeatControl], None]) -> None:
        """Do something about the beat, and show what came of it."""
        beat = self._beat
        if beat is not None:
            self._said = ""
            self._doing(lambda: change(beat))

    @property
    def position_s(self) -> float | None:
        """Where the recording sounds now."""
        return self._beat.position_s if self._beat is not None else None

    def look_up(self) -> None:
        """Notice that the loudspeaker is gone; the screen asks now and then."""
        words = self._beat.device_words() if self._beat is not None else None
        if words is not None:
            self._say(words)
            self._refresh()

    def leave(self) -> None:
        """Go back with the beats as they were."""
        self._beat = None
        player = self._room.player()
        if player is not None:
            player.stop()
        self._go("workbench", section=self._section, line=self._kind.value)

    @override
    def _act(self) -> None:
        if self._beat is None:
            return
        try:
            self._keep(self._beat)
        except CoachError as error:
            self._say(error.message)
            self._refresh()
            return
        self._beat.stop()
        self._beat = None
        self._go("workbench", section=self._section, line=self._kind.value)

    def _keep(self, beat: BeatControl) -> None:
        if beat.changed:
            BeatDesk(self._room.journal).set_grid(beat.grid, beat.meter, beat.pickup)

    @override
    def _refresh(self) -> None:
        beat = self._beat
        if beat is None:
            return
        action = KEEP if beat.changed else BACK
        second = "Leave them as they were" if beat.changed else ""
        view = BeatPageView(beat.sentence, beat.view(), action, second, said=self._said, words=STAYS)
        self._show(Ready(view))
