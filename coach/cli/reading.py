"""Files of arrangements that commands are given."""

from pathlib import Path

from coach.errors import UnreadableFileError
from coach.notation.arrangement import Arrangement
from coach.sheet import read_arrangement
from coach.sheet.limits import MAX_BYTES


def arrangement_in(path: Path) -> Arrangement:
    """The arrangement in a file of lines JSON, MusicXML or MIDI.

    Raises
    ------
    InputError
        If it cannot be read, or is none.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)  # one more, so that a file over the limit is told from one at it
    except OSError as error:
        raise UnreadableFileError(f"“{path}” cannot be read: check its name and try again.") from error
    return read_arrangement(data, str(path))
