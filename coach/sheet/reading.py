"""Any arrangement file: told apart by what is in it, then by its name."""

from pathlib import PurePath

from coach.errors import UnreadableFileError
from coach.notation.arrangement import Arrangement
from coach.sheet.limits import check_size
from coach.sheet.lines_json import read_lines
from coach.sheet.midi_in import read_midi
from coach.sheet.musicxml_in import read_musicxml

_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
_COMPRESSED_MARKS = (b"PK\x03\x04", b"PK\x05\x06", b"\x1f\x8b")


def read_arrangement(data: bytes, name: str) -> Arrangement:
    """Read lines JSON, MusicXML or MIDI.

    Parameters
    ----------
    data
        The file's bytes, at most 10 MB.
    name
        Its name or path, for errors and where the content does not tell the kind.

    Raises
    ------
    InputError
        One sentence that says what is wrong: the note, the third voice, the chord, the broken part.
    """
    check_size(data, name)
    short = PurePath(name).name
    head = data[:512].removeprefix(b"\xef\xbb\xbf").lstrip()
    if not head:
        raise UnreadableFileError(f"“{short}” is empty: choose lines JSON, MusicXML or MIDI.")
    if data.startswith(_COMPRESSED_MARKS):
        raise UnreadableFileError(
            f"“{short}” is compressed: export it as plain MusicXML (.musicxml), not as .mxl or .zip."
        )
    if head.startswith((b"{", b"[")):
        return read_lines(data, short)
    if data.startswith(b"MThd"):
        return read_midi(data, short)
    if head.startswith(b"<") or data.startswith(_UTF16_MARKS):
        return read_musicxml(data, short)
    raise UnreadableFileError(
        f"“{short}” is neither lines JSON, MusicXML nor MIDI: choose a file of one of these kinds."
    )
