"""The sentences about files that cannot be read, or not whole."""

from coach.audio.decode.limits import MAX_FRAMES, MAX_LENGTH_S
from coach.errors import TooLargeError, UnreadableFileError

KINDS = "wav, aiff, flac, ogg, opus, mp3 or m4a"

BELIEVED_S = 3 * 3600.0
"""No recording of a piece is longer; a header that says so is wrong."""

ODD_SAMPLES = "Some samples of the file are not valid numbers; they were replaced by silence."


def length(seconds: float) -> str:
    """A stretch of time as people say it: ``2.4 seconds``, ``3:07 minutes``."""
    if seconds < 59.95:
        return f"{seconds:.1f} seconds"
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d} minutes"


def not_audio() -> UnreadableFileError:
    """The file is of another kind."""
    return UnreadableFileError(f"This is not an audio file that can be read: choose a {KINDS} file.")


def damaged() -> UnreadableFileError:
    """Nothing of the file could be read."""
    return UnreadableFileError(
        "The file is damaged and none of its sound can be read: copy or export it again from its source."
    )


def silent_file() -> UnreadableFileError:
    """A sound file without samples."""
    return UnreadableFileError("The file holds no sound: choose another one or record it again.")


def stuck() -> UnreadableFileError:
    """Reading did not get on."""
    return UnreadableFileError(
        "Reading the file came to a standstill, so it is damaged: copy or export it again from its source."
    )


def too_long(rate_hz: int) -> TooLargeError:
    """The recording goes over the limit of length."""
    minutes = min(MAX_LENGTH_S, MAX_FRAMES / rate_hz) / 60
    return TooLargeError(
        f"The recording is longer than {minutes:.3g} minutes: cut out the part you want first."
    )


def ends_early(read_s: float, expected_s: float) -> str:
    """What to say of a file that ends before it should."""
    if expected_s > BELIEVED_S:  # a broken header
        return f"The file ends earlier than its header says: the first {length(read_s)} could be read."
    return f"The file ends early: the first {length(read_s)} of {length(expected_s)} could be read."


def broken_off(read_s: float) -> str:
    """What to say of a file whose end is damaged."""
    return f"The file is damaged: only the first {length(read_s)} could be read."


def cut_short() -> str:
    """What to say of a file that stops without its proper end."""
    return "The end of the file is missing; everything before it was read."


def gaps() -> str:
    """What to say of a file with damaged places inside."""
    return "Parts of the file are damaged and were left out."
