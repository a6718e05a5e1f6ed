"""The fonts of Kivy's package data, as the app itself finds them."""

from functools import lru_cache

from coach.bootstrap import kivy_fonts
from coach.sheet.fonts import SheetFonts


@lru_cache(maxsize=1)
def sheet_fonts() -> SheetFonts:
    """Roboto in four styles."""
    styles = ("Regular", "Bold", "Italic", "BoldItalic")
    return SheetFonts(*((kivy_fonts() / f"Roboto-{style}.ttf").read_bytes() for style in styles))
