"""MusicXML 4.0 out: one part, a treble-8 staff with two voices and, where places are known, a TAB staff."""

import xml.etree.ElementTree as ET
from collections.abc import Sequence

from coach.music.pitch import Pitch
from coach.notation.arrangement import Arrangement
from coach.sheet.bars import Bar, laid_out, sounding
from coach.sheet.marks import MarkLookup, SheetMarks
from coach.sheet.musicxml_notes import NoteWriter
from coach.sheet.text import clean_words
from coach.sheet.values import UNITS
from coach.sheet.xml_build import plain_number, sub

_HEAD = (
    '<?xml version="1.0" encoding="UTF-8" standalone="no"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">\n'
)


def write_musicxml(arrangement: Arrangement, marks: SheetMarks | None = None) -> bytes:
    """An arrangement as MusicXML 4.0.

    Parameters
    ----------
    arrangement
        What is written; ``<pitch>`` is the sounding pitch, the clef is treble-8.
    marks
        Places, fingers of both hands and the tuning; without it the places that the player chose are taken.
        With no place known there is no TAB staff.

    Returns
    -------
    bytes
        UTF-8, with the document type of the 4.0 partwise format.
    """
    tree = score_tree(arrangement, marks)
    ET.indent(tree)
    return (_HEAD + ET.tostring(tree, encoding="unicode") + "\n").encode()


def score_tree(
    arrangement: Arrangement, marks: SheetMarks | None, *, for_print: bool = False, whole: bool = True
) -> ET.Element:
    """The document as a tree; for print as the engraver needs it: title, tempo and capo are set by us.

    Without ``whole`` the empty bars before the first note and after the last are left out.
    """
    lookup = MarkLookup.of(arrangement, marks)
    root = ET.Element("score-partwise", version="4.0")
    sub(sub(root, "work"), "work-title", "Title" if for_print else clean_words(arrangement.title))
    encoding = sub(sub(root, "identification"), "encoding")
    sub(encoding, "software", "Two-Line Coach")
    sub(encoding, "supports", element="accidental", type="yes")
    sub(encoding, "supports", element="beam", type="yes")
    sub(encoding, "supports", element="stem", type="yes")
    part = sub(sub(root, "part-list"), "score-part", id="P1")
    sub(part, "part-name", "Guitar", print_object="no")
    sub(sub(part, "score-instrument", id="P1-I1"), "instrument-name", "Classical guitar")
    midi = sub(part, "midi-instrument", id="P1-I1")
    sub(midi, "midi-channel", "1")
    sub(midi, "midi-program", "25")
    _part(
        sub(root, "part", id="P1"),
        laid_out(arrangement) if whole else sounding(laid_out(arrangement)),
        NoteWriter(arrangement, lookup, for_print=for_print),
    )
    return root


def _part(part: ET.Element, bars: Sequence[Bar], writer: NoteWriter) -> None:
    arrangement = writer.arrangement
    for index, bar in enumerate(bars):
        measure = sub(part, "measure", number=str(bar.number))
        if bar.number == 0:
            measure.set("implicit", "yes")
        if index == 0:
            _attributes(measure, arrangement, writer.marks)
            if not writer.for_print:
                _opening(measure, arrangement)
        for at, section in bar.marks:
            _section_mark(measure, clean_words(section.name), at - bar.first)
        writer.write(measure, bar)
        if index == len(bars) - 1:
            sub(sub(measure, "barline", location="right"), "bar-style", "light-heavy")


def _attributes(measure: ET.Element, arrangement: Arrangement, marks: MarkLookup) -> None:
    attributes = sub(measure, "attributes")
    sub(attributes, "divisions", str(UNITS))
    key = sub(attributes, "key")
    sub(key, "fifths", str(arrangement.key.fifths))
    sub(key, "mode", arrangement.key.mode.value)
    staves = 2 if marks else 1
    for staff in range(1, staves + 1):
        time = sub(attributes, "time", **({"number": str(staff)} if marks else {}))
        if staff == 2:
            time.set("print-object", "no")
        sub(time, "beats", str(arrangement.meter.count))
        sub(time, "beat-type", str(arrangement.meter.unit))
    if marks:
        sub(attributes, "staves", "2")
    clef = sub(attributes, "clef", **({"number": "1"} if marks else {}))
    sub(clef, "sign", "G")
    sub(clef, "line", "2")
    sub(clef, "clef-octave-change", "-1")
    if marks:
        _tab_staff(attributes, arrangement.capo, marks.tuning)


def _tab_staff(attributes: ET.Element, capo: int, tuning: Sequence[int]) -> None:
    clef = sub(attributes, "clef", number="2")
    sub(clef, "sign", "TAB")
    sub(clef, "line", "5")
    details = sub(attributes, "staff-details", number="2")
    sub(details, "staff-lines", "6")
    for line, midi in enumerate(tuning, 1):
        pitch = Pitch.from_midi(midi)
        string = sub(details, "staff-tuning", line=str(line))
        sub(string, "tuning-step", pitch.letter)
        if pitch.alter:
            sub(string, "tuning-alter", str(pitch.alter))
        sub(string, "tuning-octave", str(pitch.octave))
    if capo:
        sub(details, "capo", str(capo))


def _opening(measure: ET.Element, arrangement: Arrangement) -> None:
    tempo = plain_number(arrangement.tempo_bpm)
    direction = sub(measure, "direction", placement="above")
    metronome = sub(sub(direction, "direction-type"), "metronome", parentheses="no")
    sub(metronome, "beat-unit", "quarter")
    sub(metronome, "per-minute", tempo)
    sub(direction, "staff", "1")
    sub(direction, "sound", tempo=tempo)
    if arrangement.capo:
        words = sub(measure, "direction", placement="above")
        sub(sub(words, "direction-type"), "words", f"Capo {arrangement.capo}")
        sub(words, "staff", "1")


def _section_mark(measure: ET.Element, name: str, offset: int) -> None:
    direction = sub(measure, "direction", placement="above")
    sub(sub(direction, "direction-type"), "rehearsal", name, enclosure="square")
    if offset:
        sub(direction, "offset", str(offset))
    sub(direction, "staff", "1")
