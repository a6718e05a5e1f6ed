"""A walk through the measures of a MusicXML score: what sounds when, in which voice of which staff."""

import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from fractions import Fraction

from coach.errors import InputError
from coach.music.key import Key, Mode
from coach.music.meter import Meter
from coach.notation.arrangement import MAX_CAPO, MAX_QUARTERS, TEMPO_RANGE_BPM
from coach.notation.section import Section
from coach.sheet.musicxml_note_in import NoteContext, NoteIn, Transposition, read_note
from coach.sheet.places import TabNote
from coach.sheet.text import CAPO_WORDS, clean_words

_MAX_DIVISIONS = 100_000


@dataclass(slots=True)
class Stream:
    """One voice of one staff of one part, ties joined; it may hold rests only."""

    part: int
    staff: int
    voice: str
    found: list[NoteIn] = field(default_factory=list)

    @property
    def name(self) -> str:
        """Words for an error."""
        return f"voice {self.voice} of staff {self.staff} in part {self.part}"

    def add(self, note: NoteIn) -> None:
        """Take a note in, joining it to the one before where it is tied to it."""
        last = self.found[-1] if self.found else None
        if note.tied_to_before and last and last.end == note.onset and last.pitch.midi == note.pitch.midi:
            self.found[-1] = last.joined(note)
        else:
            self.found.append(note)


@dataclass(slots=True)
class Score:
    """What a walk has found."""

    streams: dict[tuple[int, int, str], Stream] = field(default_factory=dict)
    tab_staves: set[tuple[int, int]] = field(default_factory=set)
    meter: Meter | None = None
    key: Key | None = None
    tempo_bpm: float | None = None
    pickup: Fraction = Fraction(0)
    capo: int = 0
    sections: list[Section] = field(default_factory=list)

    @property
    def tab_notes(self) -> list[TabNote]:
        """The notes with places of all TAB staves, voice by voice."""
        streams = sorted(self.streams.values(), key=_order)
        found: list[TabNote] = []
        for place in sorted(self.tab_staves):
            voices = [stream for stream in streams if (stream.part, stream.staff) == place]
            for voice, stream in enumerate(voices):
                found += [
                    TabNote(note.onset, note.pitch.midi, voice, note.place)
                    for note in stream.found
                    if note.place is not None
                ]
        return found

    def staves(self) -> list[list[Stream]]:
        """The streams staff by staff in score order; TAB staves only where there is no other with notes."""
        staves: dict[tuple[int, int], list[Stream]] = {}
        for stream in sorted(self.streams.values(), key=_order):
            staves.setdefault((stream.part, stream.staff), []).append(stream)
        plain = {place: staff for place, staff in staves.items() if place not in self.tab_staves}
        used = plain if any(stream.found for staff in plain.values() for stream in staff) else staves
        return list(used.values())


def _order(stream: Stream) -> tuple[int, int, int, str]:
    number = int(stream.voice) if stream.voice.isascii() and stream.voice.isdigit() else 10**6
    return (stream.part, stream.staff, number, stream.voice)


def walk(root: ET.Element) -> Score:
    """Read all parts of a partwise score.

    Raises
    ------
    InputError
        Naming the bar and, where there is one, the note.
    """
    score = Score()
    for number, part in enumerate(root.iterfind("part"), 1):
        _PartWalk(score, number).walk(part)
    return score


@dataclass(slots=True)
class _PartWalk:
    """The state of the walk through one part."""

    score: Score
    part: int
    divisions: int = 0
    bar: str = ""
    start: Fraction = Fraction(0)
    now: Fraction = Fraction(0)
    far: Fraction = Fraction(0)
    transposition: Transposition = field(default_factory=Transposition)

    def walk(self, part: ET.Element) -> None:
        measures = part.findall("measure")
        for index, measure in enumerate(measures):
            self.bar = clean_words(measure.get("number", "")) or str(index + 1)
            self.now = self.far = self.start
            for element in measure:
                self._element(element)
            self._close(measure, first=index == 0, only=len(measures) == 1)

    def _element(self, element: ET.Element) -> None:
        match element.tag:
            case "attributes":
                self._attributes(element)
            case "note":
                self._note(element)
            case "backup":
                self._move(-self._duration(element))
            case "forward":
                self._move(self._duration(element))
            case "direction":
                self._direction(element)
            case "sound":
                self._tempo(element.get("tempo"))
            case _:
                pass

    def _move(self, by: Fraction) -> None:
        self.now += by
        if self.now < self.start:
            raise InputError(f"In bar {self.bar} a <backup> leads before the bar: export the file again.")
        self.far = max(self.far, self.now)
        if self.far > MAX_QUARTERS:
            raise InputError(
                f"The piece is longer than {MAX_QUARTERS} quarter notes: take a shorter part of it."
            )

    def _duration(self, element: ET.Element) -> Fraction:
        text = (element.findtext("duration") or "").strip()
        try:
            value = Fraction(text) if len(text) < 20 and "e" not in text.lower() else None
        except (ValueError, ZeroDivisionError):
            value = None
        if value is None or value < 0:
            raise InputError(f"In bar {self.bar} a length is missing or no number: export the file again.")
        if not self.divisions:
            raise InputError(f"In bar {self.bar} <divisions> is missing: export the file again.")
        return value / self.divisions

    def _note(self, element: ET.Element) -> None:
        for tag, words in (("chord", "a chord"), ("grace", "a grace note")):
            if element.find(tag) is not None:
                raise InputError(
                    f"In bar {self.bar} there is {words}: a line has one plain note at a time, so write it "
                    "as one note or leave it out."
                )
        duration = self._duration(element)
        context = NoteContext(self.bar, self.now, duration, self.transposition)
        self._move(duration)
        if element.find("cue") is not None:
            return
        stream = self._stream(element)
        found = read_note(element, context)
        if found is not None:
            stream.add(found)

    def _stream(self, element: ET.Element) -> Stream:
        staff = _whole(element.findtext("staff"), 1)
        voice = clean_words(element.findtext("voice") or "1")
        return self.score.streams.setdefault((self.part, staff, voice), Stream(self.part, staff, voice))

    def _attributes(self, element: ET.Element) -> None:
        divisions = element.findtext("divisions")
        if divisions is not None:
            self.divisions = _whole(divisions, 0)
            if not 0 < self.divisions <= _MAX_DIVISIONS:
                raise InputError(
                    f"In bar {self.bar} <divisions> is not a usable number: export the file again."
                )
        for key in element.iterfind("key"):
            if self.score.key is None:
                self.score.key = _key(key)
        for time in element.iterfind("time"):
            self._meter(time)
        for clef in element.iterfind("clef"):
            if (clef.findtext("sign") or "").strip().upper() == "TAB":
                self.score.tab_staves.add((self.part, _whole(clef.get("number"), 1)))
        for capo in element.iterfind("staff-details/capo"):
            self.score.capo = min(max(_whole(capo.text, 0), 0), MAX_CAPO)
        for transpose in element.iterfind("transpose"):
            self.transposition = Transposition.of(transpose)

    def _meter(self, time: ET.Element) -> None:
        beats, unit = time.findtext("beats"), time.findtext("beat-type")
        if beats is None or unit is None:
            return
        try:
            meter = Meter(_whole(beats, 0), _whole(unit, 0))
        except ValueError as error:
            raise InputError(
                f"The meter {clean_words(beats)}/{clean_words(unit)} in bar {self.bar} is not read: use for "
                "example 4/4."
            ) from error
        if self.score.meter not in {None, meter}:
            raise InputError(
                f"The meter changes to {meter} in bar {self.bar}: an arrangement keeps one meter throughout."
            )
        self.score.meter = meter

    def _direction(self, element: ET.Element) -> None:
        for sound in element.iterfind("sound"):
            self._tempo(sound.get("tempo"))
        for metronome in element.iterfind("direction-type/metronome"):
            if metronome.findtext("beat-unit") == "quarter" and metronome.find("beat-unit-dot") is None:
                self._tempo(metronome.findtext("per-minute"))
        for text in element.iterfind("direction-type/words"):
            match = CAPO_WORDS.fullmatch(clean_words(text.text or ""))
            if match and not self.score.capo:
                self.score.capo = int(match[1])
        words = clean_words(
            " ".join(mark.text or "" for mark in element.iterfind("direction-type/rehearsal"))
        )
        if words and self.part == 1:
            offset = _whole(element.findtext("offset"), 0)
            onset = self.now + (Fraction(offset, self.divisions) if self.divisions else 0)
            self.score.sections.append(Section(words, max(onset, Fraction(0))))

    def _tempo(self, text: str | None) -> None:
        try:
            tempo = float(text) if text is not None else 0.0
        except ValueError:
            return
        if self.score.tempo_bpm is None and TEMPO_RANGE_BPM[0] <= tempo <= TEMPO_RANGE_BPM[1]:
            self.score.tempo_bpm = tempo

    def _close(self, measure: ET.Element, *, first: bool, only: bool) -> None:
        """End a measure: the next one starts after a whole bar, or earlier after a bar that is cut short."""
        length = self.far - self.start
        bar = (self.score.meter or Meter(4, 4)).bar
        if length > bar:
            raise InputError(f"Bar {self.bar} is {length} quarters long, more than a bar of {bar} quarters.")
        short = measure.get("implicit") == "yes" or measure.get("number") == "0"
        if first and (short or not only) and length < bar:
            self.score.pickup = max(self.score.pickup, length)
            self.start += length
        else:
            self.start += length if short else bar


def _key(element: ET.Element) -> Key | None:
    mode = Mode.MINOR if (element.findtext("mode") or "").strip() == "minor" else Mode.MAJOR
    fifths = element.findtext("fifths")
    return Key.of_fifths(_whole(fifths, 0), mode) if fifths and abs(_whole(fifths, 0)) <= 7 else None


def _whole(text: str | None, default: int) -> int:
    """A whole number as far as one is there."""
    word = (text or "").strip()
    try:
        return int(word) if len(word) < 10 else default
    except ValueError:
        return default
