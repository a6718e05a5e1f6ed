"""The text fonts of a sheet, as bytes: they are embedded in every page that is written."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SheetFonts:
    """Four TrueType fonts of one family, whole files.

    Parameters
    ----------
    regular, bold, italic, bold_italic
        Bytes of a ``.ttf`` file each.
    """

    regular: bytes
    bold: bytes
    italic: bytes
    bold_italic: bytes
