"""The notes of one bar as MusicXML, on the staff and on the TAB staff."""

import xml.etree.ElementTree as ET
from dataclasses import dataclass, replace

from coach.notation.arrangement import Arrangement
from coach.notation.line import LineKind
from coach.sheet.accidentals import accidentals
from coach.sheet.bars import Bar, Symbol, Voice
from coach.sheet.beams import BeamWords, beams
from coach.sheet.marks import MarkedNote, MarkLookup
from coach.sheet.text import clean_words
from coach.sheet.values import units
from coach.sheet.xml_build import sub

_VOICE_NUMBERS = {LineKind.MELODY: 1, LineKind.BASS: 2}
_TAB_VOICES = 4
"""The TAB staff's voices are numbered after the staff's own four possible ones. Common practice."""


@dataclass(frozen=True, slots=True)
class NoteWriter:
    """Writes bars of one arrangement.

    Parameters
    ----------
    arrangement, marks
        What is written.
    for_print
        Written for the engraver, not for other programs: a held note has no second number on the TAB staff,
        and the right hand stands beside the numbers (the engraver does not draw ``<pluck>``).
    """

    arrangement: Arrangement
    marks: MarkLookup
    for_print: bool = False

    def write(self, measure: ET.Element, bar: Bar) -> None:
        """Append all voices of a bar to its measure."""
        signs = accidentals(bar.voices, self.arrangement.key)
        first = True
        for voice in bar.voices:
            if not first:
                _backup(measure, bar)
            first = False
            words = beams(voice.symbols, self.arrangement.meter)
            for symbol, beam in zip(voice.symbols, words, strict=True):
                self._staff_note(measure, voice, symbol, beam, signs.get((voice.kind, symbol.start)))
        if not self.marks:
            return
        for voice in bar.voices:
            _backup(measure, bar)
            for symbol in voice.symbols:
                self._tab_note(measure, voice, symbol)

    def _staff_note(
        self, measure: ET.Element, voice: Voice, symbol: Symbol, beam: BeamWords, sign: str | None
    ) -> None:
        up = voice.kind is LineKind.MELODY
        number = _VOICE_NUMBERS[voice.kind]
        element = self._begun(measure, voice, symbol, number)
        if sign is not None:
            sub(element, "accidental", sign)
        _time_modification(element, symbol)
        if symbol.note is not None and symbol.value.type != "whole":
            sub(element, "stem", "up" if up else "down")
        if self.marks:
            sub(element, "staff", "1")
        for level, word in enumerate(beam, 1):
            sub(element, "beam", word, number=str(level))
        notations = _notations(symbol, "above" if up else "below")
        mark = self.marks.of_note(voice.kind, symbol.note) if symbol.note and not symbol.tie_stop else None
        if mark is not None:
            _fingers(notations, mark, "above" if up else "below")
        if len(notations):
            element.append(notations)
        _lyric(element, symbol)

    def _tab_note(self, measure: ET.Element, voice: Voice, symbol: Symbol) -> None:
        mark = self.marks.of_note(voice.kind, symbol.note) if symbol.note is not None else None
        if self.for_print:
            mark = None if symbol.tie_stop else mark
            symbol = replace(symbol, tie_start=False, tie_stop=False)
        shown = symbol if mark is not None else Symbol(symbol.start, symbol.value, None, zone=symbol.zone)
        element = self._begun(measure, voice, shown, _VOICE_NUMBERS[voice.kind] + _TAB_VOICES)
        _time_modification(element, shown)
        if mark is None:
            element.set("print-object", "no")
        elif shown.value.type != "whole":
            sub(element, "stem", "none")
        sub(element, "staff", "2")
        if mark is not None:
            notations = _notations(shown, None)
            technical = sub(notations, "technical")
            sub(technical, "string", str(mark.string))
            sub(technical, "fret", str(mark.fret))
            if self.for_print and mark.right_hand is not None:
                below = voice.kind is LineKind.BASS
                sub(technical, "fingering", mark.right_hand, placement="below" if below else "above")
            element.append(notations)

    def _begun(self, measure: ET.Element, voice: Voice, symbol: Symbol, number: int) -> ET.Element:
        """A note element up to its dots."""
        element = sub(measure, "note")
        whole_bar = voice.silent and units(self.arrangement.meter.bar) == symbol.value.length
        if symbol.note is None:
            sub(element, "rest", **({"measure": "yes"} if whole_bar else {}))
        else:
            pitch = sub(element, "pitch")
            sub(pitch, "step", symbol.note.pitch.letter)
            if symbol.note.pitch.alter:
                sub(pitch, "alter", str(symbol.note.pitch.alter))
            sub(pitch, "octave", str(symbol.note.pitch.octave))
        sub(element, "duration", str(symbol.value.length))
        for kind in _ties(symbol):
            sub(element, "tie", type=kind)
        sub(element, "voice", str(number))
        sub(element, "type", symbol.value.type)
        for _ in range(symbol.value.dots):
            sub(element, "dot")
        return element


def _ties(symbol: Symbol) -> list[str]:
    return ["stop"] * symbol.tie_stop + ["start"] * symbol.tie_start


def _backup(measure: ET.Element, bar: Bar) -> None:
    sub(sub(measure, "backup"), "duration", str(bar.end - bar.first))


def _time_modification(element: ET.Element, symbol: Symbol) -> None:
    if symbol.zone is not None:
        modification = sub(element, "time-modification")
        sub(modification, "actual-notes", "3")
        sub(modification, "normal-notes", "2")


def _notations(symbol: Symbol, bracket: str | None) -> ET.Element:
    """Ties and, where a placement is given, the ends of a triplet's bracket."""
    notations = ET.Element("notations")
    for kind in _ties(symbol):
        sub(notations, "tied", type=kind)
    if symbol.zone is not None and bracket is not None:
        if symbol.start == symbol.zone.start:
            sub(notations, "tuplet", type="start", number="1", bracket="yes", placement=bracket)
        if symbol.end == symbol.zone.end:
            sub(notations, "tuplet", type="stop", number="1")
    return notations


def _fingers(notations: ET.Element, mark: MarkedNote, placement: str) -> None:
    if mark.finger is None and mark.right_hand is None:
        return
    technical = sub(notations, "technical")
    if mark.finger is not None:
        sub(technical, "fingering", str(mark.finger), placement=placement)
    if mark.right_hand is not None:
        sub(technical, "pluck", mark.right_hand, placement="below")


def _lyric(element: ET.Element, symbol: Symbol) -> None:
    if symbol.note is None or symbol.tie_stop or not symbol.note.syllable:
        return
    words = clean_words(symbol.note.syllable)
    if words:
        lyric = sub(element, "lyric", number="1")
        sub(lyric, "syllabic", "single")
        sub(lyric, "text", words)
