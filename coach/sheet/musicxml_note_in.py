"""One ``<note>`` of a MusicXML file."""

import xml.etree.ElementTree as ET
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Self

from coach.errors import InputError, LineError
from coach.music.interval import Interval
from coach.music.pitch import Pitch
from coach.notation.note import HIGHEST_FRET, Note, Place
from coach.sheet.text import clean_words

_STEPS = frozenset("ABCDEFG")
_ALTERS = frozenset({"-2", "-1", "0", "1", "2", "-2.0", "-1.0", "0.0", "1.0", "2.0", "+1", "+2", "-0"})
"""MusicXML 4.0, type semitones; quarter tones (fractions) are not played on frets."""
_OCTAVES = frozenset("0123456789")
"""MusicXML 4.0, type octave."""
_NONE = Interval(0, 0)


@dataclass(frozen=True, slots=True)
class Transposition:
    """From written to sounding pitch (``<transpose>``): an interval, none unless the file says so."""

    interval: Interval = _NONE

    @classmethod
    def of(cls, element: ET.Element) -> Self:
        """Read a ``<transpose>`` element; ``InputError`` where it holds no numbers."""
        try:
            chromatic = round(float(element.findtext("chromatic") or "0"))
            octaves = int(element.findtext("octave-change") or "0")
            diatonic = element.findtext("diatonic")
            steps = int(diatonic) if diatonic is not None else round(chromatic * 7 / 12)
        except (ValueError, OverflowError) as error:
            raise InputError("A <transpose> holds no numbers: export the file again.") from error
        return cls(Interval(steps + 7 * octaves, chromatic + 12 * octaves))

    def sounding(self, written: Pitch) -> Pitch:
        """The sounding pitch of a written one."""
        try:
            return self.interval.above(written)
        except ValueError:
            return Pitch.from_midi(written.midi + self.interval.semitones)


@dataclass(frozen=True, slots=True)
class NoteContext:
    """Where a note stands: bar (for errors), onset and duration in quarters, transposition."""

    bar: str
    onset: Fraction
    duration: Fraction
    transposition: Transposition


@dataclass(frozen=True, slots=True)
class NoteIn:
    """A note, or a tied part of one, as it was read; its times may lie off every grid until it is joined."""

    bar: str
    onset: Fraction
    duration: Fraction
    pitch: Pitch
    place: Place | None
    syllable: str | None
    tied_to_before: bool

    @property
    def end(self) -> Fraction:
        """Where it stops, in quarters."""
        return self.onset + self.duration

    def joined(self, after: "NoteIn") -> "NoteIn":
        """This note made longer by the one that it is tied to."""
        return replace(self, duration=self.duration + after.duration)

    def whole(self) -> Note:
        """The note; ``LineError`` naming bar and note where its time or pitch cannot be used."""
        try:
            return Note(self.onset, self.duration, self.pitch, self.place, self.syllable)
        except LineError as error:
            raise LineError(f"In bar {self.bar}: {error.message}") from error


def read_note(element: ET.Element, context: NoteContext) -> NoteIn | None:
    """The note of an element, ``None`` for a rest.

    Raises
    ------
    InputError
        Naming the bar, where the pitch or the string cannot be used.
    """
    if element.find("rest") is not None:
        return None
    ties = {tie.get("type") for tag in ("tie", "notations/tied") for tie in element.iterfind(tag)}
    return NoteIn(
        context.bar,
        context.onset,
        context.duration,
        context.transposition.sounding(_pitch(element, context)),
        _place(element, context),
        clean_words(element.findtext("lyric/text") or "") or None,
        "stop" in ties,
    )


def _pitch(element: ET.Element, context: NoteContext) -> Pitch:
    pitch = element.find("pitch")
    if pitch is None:
        raise InputError(
            f"In bar {context.bar} a note has no pitch (percussion?): give it one or take it out."
        )
    letter = (pitch.findtext("step") or "").strip()
    alter = (pitch.findtext("alter") or "0").strip()
    octave = (pitch.findtext("octave") or "").strip()
    if letter not in _STEPS or alter not in _ALTERS or octave not in _OCTAVES:
        raise InputError(
            f"In bar {context.bar} a note has a pitch that is not read: use steps A to G, at most two sharps "
            "or flats and octaves 0 to 9."
        )
    return Pitch(letter, int(float(alter)), int(octave))


def _place(element: ET.Element, context: NoteContext) -> Place | None:
    string = element.findtext("notations/technical/string")
    fret = element.findtext("notations/technical/fret")
    if string is None or fret is None:
        return None
    try:
        place = Place(int(string), int(fret))
    except ValueError as error:
        raise InputError(
            f"In bar {context.bar} a note lies on string {clean_words(string)}, fret {clean_words(fret)}: "
            "a guitar has strings 1 to 6 and frets from 0."
        ) from error
    if place.fret > HIGHEST_FRET:
        raise InputError(f"In bar {context.bar} fret {place.fret} lies beyond fret {HIGHEST_FRET}.")
    return place
