"""Finish: the take, the sheet's files, what was learned in numbers, and what comes next."""

from dataclasses import dataclass
from pathlib import Path

from typing_extensions import override

from coach.errors import CoachError, StoreError
from coach.practice.limits import limits_after
from coach.practice.piece_state import PieceState
from coach.sessions.piece.finished_files import finished_folder, write_finished
from coach.sessions.piece.material import arrangement_of
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.play_desk import PlayDesk
from coach.sessions.piece.sheet_files import engraved_sheet
from coach.sessions.piece.wished import settled_wishes
from coach.sessions.ports import Jobs, Samples, Sound, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.play_view import SheetPage, page_of
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working


@dataclass(frozen=True, slots=True)
class FinishView:
    """A piece at its end.

    Parameters
    ----------
    numbers
        What was learned, a sentence each.
    files
        Where the sheet's files and the take lie.
    pages
        The sheet, to be looked at; it comes a moment after the rest.
    """

    title: str
    sentence: str
    action: str
    numbers: tuple[str, ...] = ()
    files: tuple[str, ...] = ()
    take: str | None = None
    playing: bool = False
    next_limit: str = ""
    pages: tuple[SheetPage, ...] = ()
    second: str = ""


class FinishPresenter(Presenter[FinishView]):
    """The piece in hand, or the one finished last.

    Parameters
    ----------
    piece
        A finished piece to be looked at, whatever is in hand.
    """

    def __init__(
        self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go, piece: str | None = None
    ) -> None:
        super().__init__(later, Working("Reading the log", None))
        self._room, self._jobs, self._go, self._looked_at = room, jobs, go, piece
        self._files: tuple[str, ...] = ()
        self._pages: tuple[SheetPage, ...] = ()
        self._sound: Sound | None = None

    @override
    def opened(self) -> None:
        try:
            self._read()
            piece = self._piece
        except CoachError as error:
            self._show(Failed("The log could not be opened.", error.message))
            return
        if piece is not None and piece.finished_on is not None:
            self._job = self._jobs.start(
                lambda _jobs: self._engraved(piece), done=self._paged, failed=lambda _: None
            )

    @override
    def closed(self) -> None:
        self.cancel()
        self._silence()

    @override
    def act(self) -> None:
        """Record the take, call it done, or go on with the next piece."""
        in_hand, piece = self._room.journal.progress.piece, self._piece
        match self._view:
            case Ready() if piece is None or piece.finished_on is not None:
                self._go("choose" if in_hand is None else "piece")
            case Ready() if piece is not None and piece.takes:
                self._finish()
            case Ready():
                self._go("play")
            case Failed():
                self.opened()
            case _:
                self._go("piece")

    def second(self) -> None:
        """Record another take: the last one that is kept is the one that counts."""
        self._go("play")

    def hear_take(self) -> None:
        """Hear the last take, or stop it."""
        if self._playing:
            self._silence()
            self._read()
            return
        output, piece = self._room.loudspeaker(), self._piece
        if output is None or piece is None or not piece.takes:
            return
        path = self._room.services.library().find(piece.piece).folder / piece.takes[-1].file
        self._job = self._jobs.start(
            lambda jobs: self._room.services.decoder().decode(path, jobs),
            done=lambda audio: self._hear(audio.stereo, audio.rate_hz),
            failed=lambda error: self._show(Failed("The take could not be played.", error.message)),
        )

    def _hear(self, stereo: Samples, rate_hz: int) -> None:
        output = self._room.loudspeaker()
        if output is not None:
            self._sound = output.play(stereo, rate_hz)
        self._read()

    def _finish(self) -> None:
        self._show(Working("Writing the sheet", None, can_cancel=False))
        self._job = self._jobs.start(self._write, done=self._written, failed=self._failed)

    def _write(self, _jobs: Jobs) -> tuple[str, ...]:
        room, services, piece = self._room, self._room.services, self._room.journal.progress.piece
        if piece is None:
            return ()
        # A folder that cannot be written to does not keep a piece from being done: its files are written anew
        # whenever this page finds them missing.
        try:
            files = tuple(str(path) for path in write_finished(services, piece, services.clock.today()))
        except StoreError as error:
            files = (error.message,)
        PlayDesk(services, room.journal, Hand.of(services.current_settings()), None).finish()
        return files

    def _written(self, files: tuple[str, ...]) -> None:
        self._files = files
        self.opened()

    def _engraved(self, piece: PieceState) -> tuple[SheetPage, ...]:
        services, lines = self._room.services, arrangement_of(piece)
        hand = Hand.of(services.current_settings())
        sheet = engraved_sheet(services, lines, hand, wishes=settled_wishes(piece, lines))
        return tuple(page_of(sheet, number) for number in range(sheet.page_count))

    def _paged(self, pages: tuple[SheetPage, ...]) -> None:
        self._pages = pages
        self._read()
        piece = self._piece
        if piece is not None and not self._files and not self._folder(piece).is_dir():
            self._job = self._jobs.start(
                lambda _jobs: self._anew(piece), done=self._found_again, failed=self._not_there
            )

    def _anew(self, piece: PieceState) -> tuple[Path, ...]:
        """The files of a piece that are not where they were written: on another device, or moved."""
        services = self._room.services
        return write_finished(services, piece, piece.finished_on or services.clock.today())

    def _found_again(self, paths: tuple[Path, ...]) -> None:
        self._files = tuple(str(path) for path in paths)
        self._read()

    def _not_there(self, error: CoachError) -> None:
        self._files = (error.message,)
        self._read()

    def _failed(self, error: CoachError) -> None:
        self._show(Failed("The piece could not be finished.", error.message))

    @property
    def _piece(self) -> PieceState | None:
        progress = self._room.journal.progress
        looked_at = next((each for each in progress.finished if each.piece == self._looked_at), None)
        if looked_at is not None:
            return looked_at
        return progress.piece or (progress.finished[-1] if progress.finished else None)

    @property
    def _playing(self) -> bool:
        return self._sound is not None and self._sound.playing

    def _silence(self) -> None:
        if self._sound is not None:
            self._sound.stop()
            self._sound = None

    def _read(self) -> None:
        piece = self._piece
        if piece is None:
            self._show(Empty("There is nothing to finish yet.", "To the piece"))
        elif piece.finished_on is not None:
            self._show(Ready(self._done(piece)))
        elif not piece.all_good_enough:
            self._show(Empty("Some sections are still to be played well enough.", "To the piece"))
        else:
            self._show(Ready(self._nearly(piece)))

    def _nearly(self, piece: PieceState) -> FinishView:
        taken = bool(piece.takes)
        sentence = "Every section is good enough. " + (
            "Your take is kept: call it done." if taken else "One whole take, and the piece is done."
        )
        action = "Call it done" if taken else "Record the take"
        take = _take_words(piece)
        return FinishView(
            piece.title,
            sentence,
            action,
            numbers_of(piece),
            take=take,
            playing=self._playing,
            second="Record another take" if taken else "",
        )

    def _done(self, piece: PieceState) -> FinishView:
        progress = self._room.journal.progress
        limits = limits_after(len(progress.finished))
        return FinishView(
            piece.title,
            "Done. This is your arrangement.",
            "Start the next piece" if progress.piece is None else "Back to the piece",
            numbers_of(piece),
            self._files or (str(self._folder(piece)),),
            _take_words(piece),
            self._playing,
            limits.words if progress.piece is None else "",
            self._pages,
        )

    def _folder(self, piece: PieceState) -> Path:
        services = self._room.services
        return finished_folder(services, piece, piece.finished_on or services.clock.today())


def numbers_of(piece: PieceState) -> tuple[str, ...]:
    """What was learned, in numbers with their units."""
    checks = sum(section.checks for section in piece.sections)
    hints = sum(section.hints for section in piece.sections)
    minutes = round(piece.seconds / 60)
    sentences = [
        f"{piece.notes_found} notes found by ear in {_counted(len(piece.sections), 'section')}.",
        f"{_counted(checks, 'question')} asked of the recording, {_counted(hints, 'hint')} taken.",
    ]
    if minutes:
        sentences.append(f"{minutes} minutes of work on the piece.")
    return tuple(sentences)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _take_words(piece: PieceState) -> str | None:
    return f"Take of {piece.takes[-1].duration_s:.0f} seconds" if piece.takes else None
