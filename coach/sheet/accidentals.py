"""Which notes of a bar carry an accidental sign."""

from collections.abc import Sequence

from coach.music.key import Key
from coach.notation.line import LineKind
from coach.sheet.bars import Voice

SIGNS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
"""MusicXML 4.0, type accidental-value."""


def accidentals(voices: Sequence[Voice], key: Key) -> dict[tuple[LineKind, int], str]:
    """The accidental signs of one bar on one staff, by line and start in units.

    A sign holds for its line of the staff to the end of the bar, for both voices; a note tied over from the
    bar before needs none and sets none. Common practice, no source.
    """
    in_force: dict[tuple[str, int], int] = {}
    found: dict[tuple[LineKind, int], str] = {}
    struck = [
        (symbol.start, voice.kind, symbol.note.pitch)
        for voice in voices
        for symbol in voice.symbols
        if symbol.note is not None and not symbol.tie_stop
    ]
    for start, kind, pitch in sorted(struck, key=lambda item: item[0]):
        line = (pitch.letter, pitch.octave)
        if pitch.alter != in_force.get(line, key.alter_of(pitch.letter)):
            found[kind, start] = SIGNS[pitch.alter]
        in_force[line] = pitch.alter
    return found
