"""The screens on which a recording is found or made, each in its five states."""

from typing import Any

from coach.ui.context import ScreenContext
from coach.ui.presenters.files import FileRow, FilesView
from coach.ui.presenters.record import RecordView, Turn
from tests.ui.case import Case, five, page_of

A_FOLDER = FilesView(
    "Where is your recording?",
    "Music",
    (("/m", "Music"), ("/d", "Downloads"), ("/o", "Documents"), ("/h", "Home"), ("/u", "A stick")),
    "/m",
    (
        FileRow("/m/tapes", "Tapes of last winter", is_folder=True),
        FileRow("/m/a.mp3", "Evening at the lock, slow, second try.mp3", is_folder=False, detail="4.2 MB"),
        FileRow("/m/b.flac", "Ferry bell.flac", is_folder=False, detail="31.0 MB"),
    ),
    12,
    action="Use this folder",
)  # fmt: skip
A_RECORDING = RecordView(
    Turn.AFTER,
    "Recorded: 1 min 12 s. Hear it, or take it in hand.",
    "Take this recording",
    "Record anew",
    "Ferry bell",
    "1 min 12 s",
    "There is no loudspeaker to hear it by; it is recorded all the same.",
)


def _record(context: ScreenContext, presenter: Any) -> Any:
    presenter.levels = None
    return page_of("record", "RecordPage")(context, presenter)


FILE_CASES: dict[str, Case] = {
    "files": Case(
        page_of("files", "FilesPage"),
        five(
            A_FOLDER,
            empty="None of your folders can be found here: drop the file onto this window.",
            work="Looking for your files",
            missing=("The stick is gone.", "Plug it in again."),
            failed=("This folder stays closed.", "The folder “x” cannot be opened: choose another one."),
        ),
    ),
    "record": Case(
        _record,
        five(
            A_RECORDING,
            empty="Nothing is recorded yet.",
            work="Opening the microphone",
            missing=("There is nothing to record with.", "There is no microphone: plug one in."),
            failed=("The microphone could not be opened.", "Another program has it: close that program."),
        ),
    ),
}
