"""The piece: the map, large, the next step, and the next-time list."""

from typing_extensions import override

from coach.errors import CoachError
from coach.practice.events import IdeaNoted, PieceSetAside
from coach.practice.piece_state import Cell, PieceState, SectionState
from coach.practice.stages import Stage
from coach.sessions.late_recording import add_recording, lacks_recording
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.handed_in import path_of
from coach.ui.presenters.map_view import map_of
from coach.ui.presenters.piece_standing import (
    NO_PIECE,
    SCREEN_OF_STAGE,
    PieceView,
    finished_pieces,
    key_is_next,
    next_words,
    stages_of,
    standing_of,
    without_piece,
)
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working


class PiecePresenter(Presenter[PieceView]):
    """The piece in hand.

    Parameters
    ----------
    recording
        A file that was found for a piece without its recording.
    section
        The section to look at; by default the one that is next.
    """

    def __init__(
        self,
        room: PracticeRoom,
        later: UiCalls,
        jobs: JobRunner,
        go: Go,
        recording: str | None = None,
        section: str | None = None,
    ) -> None:
        super().__init__(later, Empty(NO_PIECE, "Choose a piece"))
        self._room, self._jobs, self._go = room, jobs, go
        self._said, self._found, self._section = "", recording, section

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
        """Look at a section; where there is one way on alone, take it (the rules say where that is early)."""
        piece = self._room.journal.progress.piece
        section = piece.section(name) if piece is not None else None
        if piece is None or section is None:
            return
        self._section = name
        if len(stages_of(section)) > 1:
            self._read()
        else:
            self._work_on(piece, section)

    def open_stage(self, stage: Stage) -> None:
        """Open a stage of the section that is looked at: the next one, or one to be changed again."""
        piece = self._room.journal.progress.piece
        section = self._looked_at(piece) if piece is not None else None
        if piece is None or section is None:
            return
        if stage is section.next_stage:
            self._work_on(piece, section)
        else:
            self._open(section, stage)

    def other_key(self) -> None:
        """Choose another key for what is found."""
        piece = self._room.journal.progress.piece
        section = self._looked_at(piece) if piece is not None else None
        if section is not None:
            self._go("fit", section=section.name)

    def look_at(self, piece: str) -> None:
        """Look at a piece that is done: its sheet, its take, its files."""
        self._go("finish", piece=piece)

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
            self._work_on(piece, piece.next_section)

    def _work_on(self, piece: PieceState, section: SectionState) -> None:
        """The next stage of a section; once a tune is there, the key comes before it."""
        if key_is_next(piece, section):
            self._go("fit", section=section.name)
        else:
            self._open(section, section.next_stage or Stage.PLAYED)

    def _open(self, section: SectionState, stage: Stage) -> None:
        word, _ = SCREEN_OF_STAGE[stage]
        line = "bass" if stage is Stage.BASS else "melody"
        self._go(word, section=section.name, line=line)

    def _looked_at(self, piece: PieceState) -> SectionState | None:
        """The section that was tapped, or the one that is next; at the end the first."""
        chosen = piece.section(self._section) if self._section else None
        return chosen or piece.next_section or next(iter(piece.sections), None)

    def _read(self) -> None:
        today = self._room.services.clock.today()
        try:
            progress = self._room.journal.progress
            piece = progress.piece
            lacks = piece is not None and lacks_recording(self._room.services, piece)
        except CoachError as error:
            self._show(Failed("The log could not be opened.", error.message))
            return
        if piece is None:
            self._show(without_piece(progress, today))
            return
        section = self._looked_at(piece)
        stages = stages_of(section) if section is not None else ()
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
                    section.name if section is not None and len(stages) > 1 else "",
                    stages if len(stages) > 1 else (),
                    piece.key is not None and all(each.together is Cell.EMPTY for each in piece.sections),
                    finished_pieces(progress, today),
                )
            )
        )
