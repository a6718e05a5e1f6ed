"""Pictures of an engraved sheet, for the screen and as PNG files."""

import struct
import threading
import zlib
from typing import cast

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from coach.sheet.engrave import EngravedSheet

PNG_DPI = 150.0
"""Dots an inch of PNG pages: sharp on a tablet, about 100 kB a page."""
_POINTS_PER_INCH = 72.0
_ONE_AT_A_TIME = threading.Lock()
"""PDFium is not made for two threads at once."""


def page_pixels(sheet: EngravedSheet, page: int, width: int) -> NDArray[np.uint8]:
    """One page as grey pixels.

    Parameters
    ----------
    sheet
        An engraved sheet.
    page
        Counted from 0; ``ValueError`` where there is no such page.
    width
        Wanted width in pixels, at least 1; the height follows.

    Returns
    -------
    array, shape (height, width), uint8
        0 is black, 255 white; row 0 is the top.
    """
    if not 0 <= page < sheet.page_count or width < 1:
        raise ValueError(f"no page {page} of {sheet.page_count} at width {width}")
    with _ONE_AT_A_TIME:
        document = pypdfium2.PdfDocument(sheet.pdf)
        try:
            bitmap = document[page].render(scale=width / sheet.page_size[0], grayscale=True)
            pixels = np.array(bitmap.to_numpy(), dtype=np.uint8)
        finally:
            document.close()
    return cast("NDArray[np.uint8]", pixels.reshape(pixels.shape[0], pixels.shape[1]))


def page_png(sheet: EngravedSheet, page: int, dpi: float = PNG_DPI) -> bytes:
    """One page as a grey PNG file."""
    return png(page_pixels(sheet, page, round(sheet.page_size[0] * dpi / _POINTS_PER_INCH)))


def png(pixels: NDArray[np.uint8]) -> bytes:
    """Grey pixels (height, width) as PNG (W3C Recommendation, third edition): 8 bits, no filter."""
    height, width = pixels.shape
    rows = np.zeros((height, width + 1), dtype=np.uint8)
    rows[:, 1:] = pixels
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(rows.tobytes(), 6)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, data) for kind, data in chunks)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
