"""Arrangements as files: lines JSON, MusicXML and MIDI in and out; engraving in `coach.sheet.engrave`."""

from coach.sheet.lines_json import read_lines, write_lines
from coach.sheet.midi_in import read_midi
from coach.sheet.midi_out import write_midi
from coach.sheet.musicxml_in import read_musicxml
from coach.sheet.musicxml_out import write_musicxml
from coach.sheet.reading import read_arrangement

__all__ = [
    "read_arrangement",
    "read_lines",
    "read_midi",
    "read_musicxml",
    "write_lines",
    "write_midi",
    "write_musicxml",
]
