"""What kind of file it is, by its first bytes (never by its name)."""

from enum import StrEnum
from typing import BinaryIO

_SEARCH_BYTES = 65_536


class Kind(StrEnum):
    """Families of containers, by who reads them."""

    WAVE = "wave"
    SOUND_FILE = "sound file"
    """aiff, flac, ogg, opus, au, caf: libsndfile first."""
    MPEG = "mpeg audio"
    """mp3 or bare aac frames."""
    OTHER = "other"
    """m4a, mp4, webm, wma: FFmpeg only."""
    UNKNOWN = "unknown"


_STARTS = (
    (b"fLaC", Kind.SOUND_FILE),
    (b"OggS", Kind.SOUND_FILE),
    (b".snd", Kind.SOUND_FILE),
    (b"caff", Kind.SOUND_FILE),
    (b"\x1aE\xdf\xa3", Kind.OTHER),  # EBML (Matroska, WebM)
    (b"\x30\x26\xb2\x75\x8e\x66\xcf\x11", Kind.OTHER),  # ASF header GUID
)


def kind_of(file: BinaryIO) -> Kind:
    """Look at the first bytes, past an ID3 tag if there is one.

    Magic numbers from the formats' own specifications: RIFF/RF64 WAVE, AIFF (FORM), FLAC (RFC 9639), Ogg
    (RFC 3533), ISO base media (``ftyp``), Matroska (RFC 8794), MPEG audio sync word (ISO/IEC 11172-3).
    """
    head = file.read(12)
    if head[:3] == b"ID3" and len(head) >= 10:
        file.seek(10 + _syncsafe(head[6:10]))
        after = file.read(12)
        return Kind.SOUND_FILE if after[:4] == b"fLaC" else Kind.MPEG
    if head[:4] in {b"RIFF", b"RF64"} and head[8:12] == b"WAVE":
        return Kind.WAVE
    if head[:4] == b"FORM" and head[8:12] in {b"AIFF", b"AIFC"}:
        return Kind.SOUND_FILE
    if head[4:8] in {b"ftyp", b"moov", b"mdat", b"wide", b"free"}:
        return Kind.OTHER
    for start, kind in _STARTS:
        if head.startswith(start):
            return kind
    return Kind.MPEG if _has_mpeg_frames(head + file.read(_SEARCH_BYTES)) else Kind.UNKNOWN


def _syncsafe(four: bytes) -> int:
    size = 0
    for byte in four:
        size = size << 7 | byte & 0x7F
    return size


_LAYER_3_KBPS = (
    (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 0),
    (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160, 0),
)
_RATES_HZ = (44_100, 48_000, 32_000)


def _frame_bytes(data: bytes, at: int) -> int:
    """Length of the MPEG layer 3 or ADTS frame at a place; 0 if there is none."""
    if at + 6 > len(data) or data[at] != 0xFF or data[at + 1] & 0xE0 != 0xE0:
        return 0
    second, third = data[at + 1], data[at + 2]
    if second & 0xF6 == 0xF0:  # ADTS: layer bits are zero
        return (data[at + 3] & 3) << 11 | data[at + 4] << 3 | data[at + 5] >> 5
    version, layer, rate_index = second >> 3 & 3, second >> 1 & 3, third >> 2 & 3
    if version == 1 or layer != 1 or rate_index == 3:
        return 0
    low = version != 3
    kbps = _LAYER_3_KBPS[low][third >> 4]
    rate_hz = _RATES_HZ[rate_index] >> (0 if version == 3 else 1 if version == 2 else 2)
    return (72 if low else 144) * kbps * 1000 // rate_hz + (third >> 1 & 1) if kbps else 0


def _has_mpeg_frames(data: bytes) -> bool:
    """Whether three frames follow each other somewhere near the beginning."""
    at = data.find(b"\xff")
    while at >= 0:
        here = at
        for _ in range(3):
            length = _frame_bytes(data, here)
            if length < 8:
                break
            here += length
        else:
            return True
        at = data.find(b"\xff", at + 1)
    return False
