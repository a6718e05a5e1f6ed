"""Keeping it safe: a back-up with one tap, and putting one in the place of what is here."""

from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from typing_extensions import override

from coach.errors import CancelledError, CoachError
from coach.practice.progress import Progress
from coach.sessions.keeping import (
    BackedUp,
    back_up,
    backup_folder,
    fresh_backup,
    note_backup,
    usual_folder,
)
from coach.sessions.ports import UiCalls
from coach.sessions.ports.exchange import KEPT_BEFORE, BackupContents
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.keep_words import (
    IN_PLACE,
    age_sentence,
    before_words,
    contents_words,
    here_words,
    made_words,
    restored_words,
)
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Ready, Working

NOTHING_BEFORE = "nothing"
"""Told instead of a path where nothing was there before a back-up was put in place."""
STOPPED = "Stopped. Nothing was changed."


@dataclass(frozen=True, slots=True)
class Asking:
    """A back-up that was looked into: what is in it, and what it would take the place of."""

    file: str
    holds: str
    here: str


@dataclass(frozen=True, slots=True)
class KeepView:
    """The page.

    Parameters
    ----------
    folder
        Where back-ups go; ``usual`` says whether that was not chosen by the player.
    said, good
        What came of the last thing done, and whether it went well.
    go_back
        What was here before, just after a back-up was put in its place.
    before
        Further states that were kept so: path and words.
    asking
        The one question that is asked before anything is put in place.
    """

    sentence: str
    action: str
    second: str
    folder: str = ""
    usual: bool = True
    said: str = ""
    good: bool = True
    go_back: str = ""
    before: tuple[tuple[str, str], ...] = ()
    asking: Asking | None = None


class KeepPresenter(Presenter[KeepView]):
    """Backs up; looks into a back-up, asks once, puts it in place; leads back.

    Parameters
    ----------
    file
        A back-up to be looked into at once.
    folder
        Where back-ups go from now on.
    restored
        Where what was here before is kept, right after a back-up was put in its place.
    """

    def __init__(
        self,
        room: PracticeRoom,
        later: UiCalls,
        jobs: JobRunner,
        go: Go,
        *,
        file: str | None = None,
        folder: str | None = None,
        restored: str | None = None,
    ) -> None:
        super().__init__(later, Empty("Looking how safe it is."))
        self._room, self._jobs, self._go = room, jobs, go
        self._file = None if file is None else Path(file)
        self._folder, self._restored = folder, restored
        self._said, self._good = "", True

    @override
    def opened(self) -> None:
        if self._folder is not None:
            self.keep_folder(self._folder)
        elif self._file is not None:
            self._look(self._file)
        else:
            self._home()

    @override
    def closed(self) -> None:
        self.cancel()

    @override
    def act(self) -> None:
        """Back up; with nothing to back up, look for a back-up; asked about one, put it in place."""
        match self._view:
            case Ready(KeepView(asking=Asking())) if self._file is not None:
                self.put_back(str(self._file))
            case Ready(KeepView(folder=folder)) if folder:
                self._back_up(Path(folder))
            case Ready():
                self.find()
            case _:
                self._home()

    def act_second(self) -> None:
        """Leave everything as it is; or back to the log."""
        if isinstance(self._view, Ready) and self._view.value.asking is not None:
            self._file = None
            self._home()
        else:
            self._go("log")

    def find(self) -> None:
        """Look for a back-up by touch."""
        self._go("files", want="backup", **self._begin())

    def find_folder(self) -> None:
        """Look for another folder by touch."""
        self._go("files", want="backup_folder", **self._begin())

    def keep_folder(self, folder: str | None) -> None:
        """Where back-ups go from now on; ``None``: the usual folder."""
        settings = self._room.services.settings()
        try:
            settings.save(replace(settings.load(), backup_folder=folder))
        except CoachError as error:
            self._say(error.message)
        else:
            self._home()

    def look(self, path: str) -> None:
        """Look into a back-up and ask about it."""
        self._file = Path(path)
        self._look(self._file)

    def put_back(self, path: str) -> None:
        """Put a back-up in the place of what is here."""
        try:
            self._room.rest()
        except CoachError as error:
            self._room.wake()
            self._say(error.message)
            return
        file = Path(path)
        self._show(Working("Checking the back-up", 0.0))
        self._job = self._jobs.start(
            lambda jobs: self._room.restore(file, jobs),
            done=self._put_in_place,
            failed=self._not_put,
            progress=self._working,
        )

    # --- what comes of it ---------------------------------------------------------------------------------

    def _back_up(self, folder: Path) -> None:
        services = self._room.services
        self._show(Working("Backing up", 0.0))
        self._job = self._jobs.start(
            lambda jobs: back_up(services, fresh_backup(folder, services.clock.today()), jobs),
            done=self._backed_up,
            failed=self._refused,
            progress=self._working,
        )

    def _backed_up(self, made: BackedUp) -> None:
        said = made_words(made)
        try:
            note_backup(self._room.journal, made)
        except CoachError as error:
            said = f"{said} It could not be noted in the log: {error.message}"
        self._say(said, good=True)

    def _look(self, path: Path) -> None:
        exchange = self._room.services.exchange()
        self._show(Working("Looking into the back-up"))
        self._job = self._jobs.start(
            lambda jobs: exchange.look_into_backup(path, jobs),
            done=lambda found: self._ask(path, found),
            failed=self._refused,
            progress=self._working,
        )

    def _ask(self, path: Path, found: BackupContents) -> None:
        clock = self._room.services.clock
        today, zone = clock.today(), clock.now().tzinfo
        try:
            here = self._progress()
        except CoachError:
            here = None  # a damaged log is why one puts a back-up in its place
        file, holds = contents_words(path, found, today, zone)
        asking = Asking(file, holds, here_words(here, today, zone))
        self._show(
            Ready(
                KeepView(
                    "Put this back-up in the place of what is here?",
                    "Put it in place",
                    "Leave everything as it is",
                    asking=asking,
                )
            )
        )

    def _put_in_place(self, before: Path | None) -> None:
        self._room.wake()
        # Colours, text size and places may be others now.
        self._go("restart", restored=NOTHING_BEFORE if before is None else str(before))

    def _not_put(self, error: CoachError) -> None:
        self._room.wake()
        self._refused(error)

    def _refused(self, error: CoachError) -> None:
        self._file = None
        self._say(STOPPED if isinstance(error, CancelledError) else error.message)

    def _say(self, said: str, *, good: bool = False) -> None:
        self._said, self._good = said, good
        self._home()
        self._said = ""

    # --- showing ------------------------------------------------------------------------------------------

    def _working(self, share: float, what: str) -> None:
        self._show(Working(what, share))

    def _home(self) -> None:
        services = self._room.services
        today = services.clock.today()
        view = KeepView("", "Back up now", "Back to the log", said=self._said, good=self._good)
        try:
            progress = self._progress()
        except CoachError as error:
            view = replace(
                view,
                sentence="What is here cannot be read: put a back-up in its place.",
                said=self._said or error.message,
                good=False,
            )
            progress = Progress()
        else:
            view = replace(view, sentence=age_sentence(progress, today))
        if progress.seq:
            folder = backup_folder(services)
            view = replace(view, folder=str(folder), usual=folder == usual_folder(services))
        else:
            view = replace(view, action="Look for a back-up")
        self._show(Ready(self._with_ways_back(view)))

    def _with_ways_back(self, view: KeepView) -> KeepView:
        services, restored = self._room.services, self._restored
        kept = services.exchange().kept_before()
        if restored is not None and not view.said:
            before = None if restored == NOTHING_BEFORE else Path(restored)
            go_back = "" if before is None else str(before)
            view = replace(view, sentence=IN_PLACE, said=restored_words(before), good=True, go_back=go_back)
        today = services.clock.today()
        others = [(str(path), before_words(path, today)) for path in kept if str(path) != view.go_back]
        return replace(view, before=tuple(others[:KEPT_BEFORE]))

    def _progress(self) -> Progress:
        with closing(self._room.services.read_log()) as log:
            return log.progress()

    def _begin(self) -> dict[str, str]:
        """Where to begin to look: in the folder of the back-ups, once it is there."""
        folder = backup_folder(self._room.services)
        return {"folder": str(folder)} if folder.is_dir() else {}
