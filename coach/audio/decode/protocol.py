"""What parent and child say to each other.

The parent writes one JSON line a file: ``{"path", "kind"}``. The child answers with packets: one letter, the
length of the body as four bytes (little-endian), the body.
"""

import json
import struct
from enum import Enum
from typing import BinaryIO

_HEAD = struct.Struct("<cI")


class Word(Enum):
    """The letter of a packet."""

    HEAD = b"H"
    """JSON ``{"rate_hz", "expected_frames"}``."""
    BLOCK = b"B"
    """Stereo float32 samples."""
    ANEW = b"A"
    """JSON ``{"lost"}``: this reading is over and has losses; another library tries, from `HEAD` on."""
    END = b"E"
    """JSON ``{"lost"}``."""
    FAILED = b"X"
    """JSON ``{"reason"}``: ``not_audio``, ``damaged``, ``no_sound`` or ``no_codec``."""


def write_packet(to: BinaryIO, word: Word, body: bytes) -> None:
    """Send one packet."""
    to.write(_HEAD.pack(word.value, len(body)))
    to.write(body)
    to.flush()


def write_json(to: BinaryIO, word: Word, value: dict[str, object]) -> None:
    """Send one packet with a JSON body."""
    write_packet(to, word, json.dumps(value).encode())


def read_packet(source: BinaryIO) -> tuple[Word, bytes] | None:
    """Receive one packet; ``None`` at the end of the stream."""
    head = source.read(_HEAD.size)
    if len(head) < _HEAD.size:
        return None
    letter, size = _HEAD.unpack(head)
    body = source.read(size)
    return (Word(letter), body) if len(body) == size else None
