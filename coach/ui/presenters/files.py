"""Looking for a file of the player's own: folders to go into, files to take."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from typing_extensions import override

from coach.errors import CoachError
from coach.sessions.ports import OnShelf, Place, Shelf, UiCalls
from coach.sessions.ports.recordings import AUDIO_ENDINGS
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.handed_in import TEACHERS_FILES, path_of
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working

MOST_ROWS = 40
"""So many files and folders at once; more on demand."""


@dataclass(frozen=True, slots=True)
class Errand:
    """What is looked for, and where it is brought.

    Parameters
    ----------
    screen, about
        The screen that asked, and what it is told beside the file.
    key
        Under which word it is told the file.
    takes_folder
        Whether the folder itself is what is looked for.
    """

    sentence: str
    nothing: str
    endings: frozenset[str]
    screen: str
    key: str = "file"
    about: Mapping[str, str] = field(default_factory=dict)
    takes_folder: bool = False


ERRANDS = {
    "recording": Errand(
        "Where is your recording?", "No recording is in this folder.", AUDIO_ENDINGS | {".zip"}, "choose"
    ),
    "lesson": Errand(
        "Where is your teacher's file?",
        "No pack and no reply is in this folder.",
        TEACHERS_FILES,
        "setup",
        about={"card": "lessons"},
    ),
    "copy": Errand(
        "Where is your own copy of the recording?",
        "No recording is in this folder.",
        AUDIO_ENDINGS,
        "setup",
        key="recording",
        about={"card": "lessons"},
    ),
    "missing": Errand(
        "Where is your own copy of the recording?",
        "No recording is in this folder.",
        AUDIO_ENDINGS,
        "piece",
        key="recording",
    ),
    "reports": Errand(
        "Which folder holds your learners' reports?",
        "No report is in this folder yet.",
        frozenset({".json"}),
        "teacher",
        key="folder",
        takes_folder=True,
    ),
    "backup": Errand("Which back-up?", "No back-up is in this folder.", frozenset({".zip"}), "keep"),
    "backup_folder": Errand(
        "Where should back-ups go?",
        "No back-up is in this folder yet.",
        frozenset({".zip"}),
        "keep",
        key="folder",
        takes_folder=True,
    ),
}
"""By the word that a screen asks with."""


@dataclass(frozen=True, slots=True)
class FileRow:
    """A folder or a file; ``detail`` is its size."""

    path: str
    name: str
    is_folder: bool
    detail: str = ""


@dataclass(frozen=True, slots=True)
class FilesView:
    """A folder, looked into.

    Parameters
    ----------
    where
        The folder in words.
    places
        Folders to begin with: path and name; ``place`` is the one that is open.
    rows
        What is in the folder; ``more`` is how many are not shown yet.
    can_rise
        Whether there is a folder around this one.
    """

    sentence: str
    where: str
    places: tuple[tuple[str, str], ...]
    place: str | None
    rows: tuple[FileRow, ...]
    more: int = 0
    can_rise: bool = True
    said: str = ""
    action: str = ""


class FilesPresenter(Presenter[FilesView]):
    """Looks into folders until a file is found.

    Parameters
    ----------
    want
        The word of the errand, one of `ERRANDS`.
    folder
        Where to begin; the likeliest place by default.
    extra
        What the asking screen is told again beside the file.
    """

    def __init__(
        self,
        shelf: Shelf,
        later: UiCalls,
        jobs: JobRunner,
        go: Go,
        want: str,
        folder: str | None = None,
        extra: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(later, Working("Looking for your files", None))
        self._shelf, self._jobs, self._go = shelf, jobs, go
        self._errand = ERRANDS[want]
        self._extra = dict(extra or {})
        self._begin = Path(folder) if folder else None
        self._folder = Path()
        self._places: tuple[Place, ...] = ()
        self._shown = MOST_ROWS
        self._found: tuple[OnShelf, ...] = ()

    @override
    def opened(self) -> None:
        self._places = self._shelf.places()
        begin = self._begin or next((place.folder for place in self._places), None)
        if begin is None:
            self._show(
                Empty("None of your folders can be found here: drop the file onto this window.", "Back")
            )
        else:
            self._look(begin)

    @override
    def closed(self) -> None:
        self.cancel()

    @override
    def act(self) -> None:
        """Take the folder that is open; after a trouble, look again; else go back."""
        match self._view:
            case Ready() if self._errand.takes_folder:
                self._bring(self._folder)
            case Failed():
                self._begin = None
                self.opened()
            case _:
                self.back()

    def back(self) -> None:
        """Back to the screen that asked, with nothing."""
        self._go(self._errand.screen, **self._errand.about)

    def open(self, path: str) -> None:
        """Go into a folder, or take a file."""
        row = next((on for on in self._found if str(on.path) == path), None)
        if row is not None and not row.is_folder:
            if not self._errand.takes_folder:
                self._bring(row.path)
            return
        self._look(Path(path))

    def rise(self) -> None:
        """To the folder around this one."""
        self._look(self._folder.parent)

    def show_more(self) -> None:
        """Show more of a full folder."""
        self._shown += MOST_ROWS
        self._refresh()

    def bring(self, text: str) -> None:
        """Take a file that was typed or dropped."""
        if text.strip():
            self._bring(path_of(text))

    def _bring(self, path: Path) -> None:
        self._go(self._errand.screen, **self._errand.about, **self._extra, **{self._errand.key: str(path)})

    def _look(self, folder: Path) -> None:
        self.cancel()
        self._job = self._jobs.start(
            lambda _jobs: self._shelf.look(folder, self._errand.endings),
            done=lambda found: self._looked(folder, found),
            failed=self._failed,
        )

    def _looked(self, folder: Path, found: tuple[OnShelf, ...]) -> None:
        self._folder, self._found, self._shown = folder, found, MOST_ROWS
        self._refresh()

    def _failed(self, error: CoachError) -> None:
        self._show(Failed("This folder stays closed.", error.message, "Look elsewhere"))

    def _refresh(self) -> None:
        errand, folder = self._errand, self._folder
        files = any(not on.is_folder for on in self._found)
        here = next((place for place in self._places if place.folder == folder), None)
        self._show(
            Ready(
                FilesView(
                    errand.sentence,
                    here.name if here else folder.name or str(folder),
                    tuple((str(place.folder), place.name) for place in self._places),
                    str(here.folder) if here else None,
                    tuple(_row(on) for on in self._found[: self._shown]),
                    max(0, len(self._found) - self._shown),
                    folder != folder.parent,
                    "" if files else errand.nothing,
                    "Use this folder" if errand.takes_folder else "",
                )
            )
        )


def _row(on: OnShelf) -> FileRow:
    return FileRow(
        str(on.path), on.path.name, on.is_folder, "" if on.is_folder else size_words(on.size_bytes)
    )


def size_words(size_bytes: int) -> str:
    """A file's size in MB (10^6 bytes, IEC 80000-13), never nought."""
    return f"{max(0.1, size_bytes / 1e6):.1f} MB"
