"""Limits of what is read, the same for every kind of file."""

from coach.errors import TooLargeError

MAX_BYTES = 10_000_000
"""10 MB: a two-line piece of 1000 bars stays below 3 MB in the wordiest of the formats."""
MAX_MIDI_BYTES = 1_000_000
"""1 MB: two lines of 1000 bars need an eighth of it."""


def check_size(data: bytes, name: str, most: int = MAX_BYTES) -> None:
    """Raise `TooLargeError` beyond so many bytes."""
    if len(data) > most:
        raise TooLargeError(
            f"“{name}” is larger than {most // 1_000_000} MB: take a shorter part of the piece."
        )
