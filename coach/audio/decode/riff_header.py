"""What a wav file of an unusual codec says of its length: libsndfile tells only what is there."""

from pathlib import Path

_UNKNOWN_SIZE = 0xFFFFFFFF
_MAX_CHUNKS = 100


def promised_wave_frames(path: Path, present_frames: int) -> int | None:
    """Frames that its data chunk promises, reckoned from those that are there; ``None`` if none are missing.

    Layout after "Multimedia Programming Interface and Data Specifications 1.0" (IBM/Microsoft 1991); codecs
    in wav files keep to a fixed number of bytes a frame, nearly.
    """
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] != b"RIFF" or head[8:12] != b"WAVE":
            return None
        file_bytes = path.stat().st_size
        for _ in range(_MAX_CHUNKS):
            chunk = file.read(8)
            if len(chunk) < 8:
                return None
            size = int.from_bytes(chunk[4:], "little")
            if chunk[:4] == b"data":
                present = file_bytes - file.tell()
                missing = 0 < present < size != _UNKNOWN_SIZE
                return round(present_frames * size / present) if missing else None
            file.seek(size + (size & 1), 1)
    return None
