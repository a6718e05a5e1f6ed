"""Note names as the player types them, in the names they read: English, do re mi, or German with H."""

import re
from dataclasses import dataclass

from coach.errors import NoteNameError
from coach.music.naming import Naming
from coach.music.pitch import ACCIDENTALS, Pitch

_SYLLABLES = {"do": "C", "re": "D", "ré": "D", "mi": "E", "fa": "F", "sol": "G", "la": "A", "si": "B"}
_ENGLISH = re.compile(r"([A-Ga-g])(##|#|x|bb|b|♯♯|♯|♭♭|♭)?(-?[0-9])?")
_SOLFEGE = re.compile(r"(do|ré|re|mi|fa|sol|la|si)(##|#|x|bb|b|♯♯|♯|♭♭|♭)?(-?[0-9])?", re.IGNORECASE)
_GERMAN = re.compile(r"([A-Ha-h])(isis|is|#|♯|eses|ses|es|s|♭)?(-?[0-9])?", re.IGNORECASE)
_ALTERS = {**ACCIDENTALS, "♭♭": -2, "♯♯": 2}
_GERMAN_ALTERS = {"": 0, "is": 1, "#": 1, "♯": 1, "isis": 2, "es": -1, "♭": -1, "eses": -2}
_EXAMPLES = {
    Naming.ENGLISH: "E, F# or Bb, and E2 for a certain octave",
    Naming.SOLFEGE: "mi, fa# or sib, and mi2 for a certain octave",
    Naming.GERMAN: "E, Fis, B or H, and E2 for a certain octave",
}


@dataclass(frozen=True, slots=True)
class TypedNote:
    """A typed name; ``octave`` is ``None`` where none was typed (C4 is middle C in all three namings)."""

    letter: str
    alter: int
    octave: int | None = None

    def pitch_near(self, midi: int) -> Pitch:
        """The pitch meant: the one of that name nearest to a MIDI note number (the lower of two)."""
        if self.octave is not None:
            return Pitch(self.letter, self.alter, self.octave)
        octave = midi // 12 - 1
        near = (Pitch(self.letter, self.alter, each) for each in range(octave - 2, octave + 3))
        return min(near, key=lambda pitch: (abs(pitch.midi - midi), pitch.midi))


def typed_note(text: str, naming: Naming = Naming.ENGLISH) -> TypedNote:
    """Read a typed name, with or without an octave.

    In German ``B`` is the note a fret below ``H``; ``Es`` and ``As`` are short for Ees and Aes.

    Raises
    ------
    NoteNameError
        If it is no name in that naming.
    """
    word = "".join(text.split())
    found = {Naming.ENGLISH: _english, Naming.SOLFEGE: _solfege, Naming.GERMAN: _german}[naming](word)
    if found is None:
        raise NoteNameError(f"“{text.strip()}” is not a note name: write {_EXAMPLES[naming]}.")
    return found


def _english(word: str) -> TypedNote | None:
    match = _ENGLISH.fullmatch(word)
    return _typed(match[1].upper(), _ALTERS[match[2] or ""], match[3]) if match else None


def _solfege(word: str) -> TypedNote | None:
    match = _SOLFEGE.fullmatch(word)
    return _typed(_SYLLABLES[match[1].lower()], _ALTERS[match[2] or ""], match[3]) if match else None


def _german(word: str) -> TypedNote | None:
    match = _GERMAN.fullmatch(word)
    if match is None:
        return None
    letter, ending = match[1].upper(), (match[2] or "").lower()
    if ending in {"s", "ses"}:  # Es, As; Eses, Ases
        if letter not in {"E", "A"}:
            return None
        ending = "es" if ending == "s" else "eses"
    elif letter in {"E", "A"} and ending == "es":
        return None  # “Ees” is nobody's name
    if letter == "B":
        return _typed("B", -1, match[3]) if not ending else None
    return _typed("B" if letter == "H" else letter, _GERMAN_ALTERS[ending], match[3])


def _typed(letter: str, alter: int, octave: str | None) -> TypedNote:
    return TypedNote(letter, alter, None if octave is None else int(octave))
