"""What an aiff file says of its length: libsndfile tells only what is there."""

import struct
from pathlib import Path

_MAX_CHUNKS = 100


def promised_aiff_frames(path: Path) -> int | None:
    """Frames by the common chunk ("Audio Interchange File Format", Apple 1989); ``None`` for others."""
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] != b"FORM" or head[8:12] not in {b"AIFF", b"AIFC"}:
            return None
        for _ in range(_MAX_CHUNKS):
            chunk = file.read(8)
            if len(chunk) < 8:
                return None
            size = int.from_bytes(chunk[4:], "big")
            if chunk[:4] == b"COMM":
                common = file.read(6)
                return int(struct.unpack(">hI", common)[1]) if len(common) == 6 else None
            file.seek(size + (size & 1), 1)
    return None
