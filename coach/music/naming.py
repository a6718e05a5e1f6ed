"""Note names as the player wants to read them."""

from enum import StrEnum

from coach.music.pitch import Pitch

_SIGNS = {-2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "♯♯"}
_SOLFEGE = {"C": "do", "D": "re", "E": "mi", "F": "fa", "G": "sol", "A": "la", "B": "si"}
_GERMAN_ENDINGS = {-2: "eses", -1: "es", 0: "", 1: "is", 2: "isis"}


class Naming(StrEnum):
    """Which names are shown: C D E, do re mi (fixed), or German with H."""

    ENGLISH = "english"
    SOLFEGE = "solfege"
    GERMAN = "german"


def screen_name(pitch: Pitch, naming: Naming = Naming.ENGLISH) -> str:
    """Name of a pitch without its octave, with proper accidental signs: ``F♯``, ``fa♯``, ``Fis``."""
    match naming:
        case Naming.ENGLISH:
            return pitch.letter + _SIGNS[pitch.alter]
        case Naming.SOLFEGE:
            return _SOLFEGE[pitch.letter] + _SIGNS[pitch.alter]
        case Naming.GERMAN:
            return _german(pitch)


def _german(pitch: Pitch) -> str:
    if pitch.letter == "B":
        return {-2: "Heses", -1: "B", 0: "H", 1: "His", 2: "Hisis"}[pitch.alter]
    name = pitch.letter + _GERMAN_ENDINGS[pitch.alter]
    return name.replace("Ees", "Es").replace("Aes", "As")
