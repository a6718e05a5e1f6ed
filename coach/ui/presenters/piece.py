"""The piece: the map, the next step, and the next-time list."""

from dataclasses import dataclass

from typing_extensions import override

from coach.errors import CoachError
from coach.practice.events import IdeaNoted, PieceSetAside
from coach.practice.piece_state import PieceState, SectionState
from coach.practice.stages import Stage
from coach.sessions.late_recording import add_recording, lacks_recording
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.presenters.handed_in import path_of
from coach.ui.presenters.jobs import JobRunner
from coach.ui.presenters.map_view import NO_MAP, MapView, map_of
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working

SCREEN_OF_STAGE = {
    Stage.MELODY: ("workbench", "Find the tune of section {}"),
    Stage.BASS: ("workbench", "Find the bass of section {}"),
    Stage.TOGETHER: ("together", "Put section {} on the neck"),
    Stage.PLAYED: ("play", "Play section {}"),
}


NO_PIECE = "You have no piece in hand."
KEPT = " What you laid aside is kept: you find it where you choose one."


@dataclass(frozen=True, slots=True)
class PieceView:
    """What the piece's page shows.

    Parameters
    ----------
    standing
        Where the piece stands, in a sentence.
    action
        Words of the next step.
    ideas
        The next-time list.
    words
        The teacher's words.
    lacks_recording
        Whether the recording has still to be brought: a pack may come without it.
    said
        What came of the last file that was brought.
    """

    title: str
    standing: str
    action: str
    map: MapView = NO_MAP
    ideas: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    lacks_recording: bool = False
    said: str = ""


class PiecePresenter(Presenter[PieceView]):
    """The piece in hand.

    Parameters
    ----------
    recording
        A file that was found for a piece without its recording.
    """

    def __init__(
        self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go, recording: str | None = None
    ) -> None:
        super().__init__(later, Empty(NO_PIECE, "Choose a piece"))
        self._room, self._jobs, self._go = room, jobs, go
        self._said, self._found = "", recording

    @override
    def opened(self) -> None:
        found, self._found = self._found, None
        self._read()
        if found is not None:
            self.bring_recording(found)

    @override
    def act(self) -> None:
        """The next step of the piece, or choosing one."""
        try:
            piece = self._room.journal.progress.piece
        except CoachError:
            self._read()
            return
        if piece is None:
            self._go("choose")
        else:
            self._next(piece)

    def open_section(self, name: str) -> None:
        """Work on a section out of turn; the rules say where that is too early."""
        piece = self._room.journal.progress.piece
        section = piece.section(name) if piece is not None else None
        if section is not None:
            self._work_on(section)

    def note_idea(self, text: str) -> None:
        """Put an idea onto the next-time list."""
        piece = self._room.journal.progress.piece
        if piece is not None and text.strip():
            self._room.journal.write(IdeaNoted(piece.piece, text.strip()))
            self._read()

    def set_aside(self, reason: str) -> None:
        """Lay the piece aside with a sentence why; everything of it is kept."""
        piece = self._room.journal.progress.piece
        if piece is not None and reason.strip():
            self._room.journal.write(PieceSetAside(piece.piece, reason.strip()))
            self._read()

    def look_for_recording(self) -> None:
        """Look among the player's files for the recording that the piece lacks."""
        self._go("files", want="missing")

    def bring_recording(self, text: str) -> None:
        """Give the piece the recording that it lacks: a file typed or dropped, matched by its hash."""
        piece = self._room.journal.progress.piece
        if piece is None or not text.strip():
            return
        services, file = self._room.services, path_of(text)
        self._show(Working("Looking whether it is the very same recording", None, can_cancel=False))
        self._jobs.start(
            lambda _jobs: add_recording(services, piece, file),
            done=lambda _: self._brought("The recording is here now."),
            failed=lambda error: self._brought(error.message),
        )

    def _brought(self, said: str) -> None:
        self._said = said
        self._read()

    def _next(self, piece: PieceState) -> None:
        if not piece.sections:
            self._go("choose")
        elif piece.next_section is None:
            self._go("finish")
        else:
            self._work_on(piece.next_section)

    def _work_on(self, section: SectionState) -> None:
        stage = section.next_stage or Stage.PLAYED
        word, _ = SCREEN_OF_STAGE[stage]
        line = "bass" if stage is Stage.BASS else "melody"
        self._go(word, section=section.name, line=line)

    def _read(self) -> None:
        try:
            progress = self._room.journal.progress
            piece = progress.piece
            lacks = piece is not None and lacks_recording(self._room.services, piece)
        except CoachError as error:
            self._show(Failed("The log could not be opened.", error.message))
            return
        if piece is None:
            self._show(Empty(NO_PIECE if not progress.laid_aside else NO_PIECE + KEPT, "Choose a piece"))
            return
        self._show(
            Ready(
                PieceView(
                    piece.title,
                    standing_of(piece),
                    next_words(piece),
                    map_of(piece),
                    piece.ideas,
                    piece.words,
                    lacks,
                    self._said,
                )
            )
        )


def standing_of(piece: PieceState) -> str:
    """Where a piece stands, in one sentence."""
    if not piece.sections:
        return "Next, find its beat and cut it into sections."
    done = sum(section.good_enough for section in piece.sections)
    if done == len(piece.sections):
        return "Every section is good enough: record one whole take."
    following = piece.next_section
    name = following.name if following is not None else ""
    if done == 0:
        return f"Section {name} is in work; {piece.notes_found} notes are found."
    are = "is" if done == 1 else "are"
    return f"{done} of {len(piece.sections)} sections {are} good enough. Section {name} is next."


def next_words(piece: PieceState) -> str:
    """Words of the next step's button."""
    if not piece.sections:
        return "Find the beat"
    section = piece.next_section
    if section is None:
        return "Record the take"
    _, words = SCREEN_OF_STAGE[section.next_stage or Stage.PLAYED]
    return words.format(section.name)
