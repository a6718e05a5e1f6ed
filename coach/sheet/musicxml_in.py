"""MusicXML in: one part with two voices, or two parts or staves with a voice each."""

from coach.errors import InputError, ScopeError, UnreadableFileError
from coach.music.key import Key
from coach.music.meter import Meter
from coach.notation.arrangement import DEFAULT_TEMPO_BPM, Arrangement
from coach.notation.line import Line, LineKind
from coach.sheet.limits import check_size
from coach.sheet.musicxml_walk import Score, Stream, walk
from coach.sheet.places import with_places
from coach.sheet.text import clean_words
from coach.sheet.xml_read import parse_xml


def read_musicxml(data: bytes, name: str = "piece.musicxml") -> Arrangement:
    """Read MusicXML (partwise, not compressed).

    In one part the first staff that is not a TAB staff is read: its lowest-numbered voice is the melody, the
    next the bass. Two parts or two staves with one voice each are melody and bass. Strings and frets, on the
    TAB staff or beside the notes, are kept as the player's choices. Repeats are read once.

    Raises
    ------
    InputError, ScopeError
        One sentence: a third voice, a chord, a grace note, a change of meter, a broken file; notes and bars
        are named.
    """
    check_size(data, name)
    root = parse_xml(data, name)
    if root.tag == "score-timewise":
        raise UnreadableFileError(f"“{name}” is timewise MusicXML: export it as partwise, the usual form.")
    if root.tag != "score-partwise":
        raise UnreadableFileError(f"“{name}” is XML but not MusicXML: choose a .musicxml file.")
    score = walk(root)
    melody, bass = _told_apart(score)
    heard = [[note.whole() for note in stream.found] if stream else [] for stream in (melody, bass)]
    melody_notes, bass_notes = with_places(heard, score.tab_notes)
    key = score.key or Key("C", 0)
    return Arrangement(
        title=_title(root.findtext("work/work-title"), root.findtext("movement-title")),
        meter=score.meter or Meter(4, 4),
        key=key,
        tempo_bpm=score.tempo_bpm or DEFAULT_TEMPO_BPM,
        melody=Line.of(LineKind.MELODY, melody_notes),
        bass=Line.of(LineKind.BASS, bass_notes),
        pickup=score.pickup,
        capo=score.capo,
        sections=tuple(sorted(score.sections, key=lambda section: section.onset)),
    )


def _title(*found: str | None) -> str:
    return next((clean_words(text) for text in found if text and clean_words(text)), "Untitled")


def _told_apart(score: Score) -> tuple[Stream | None, Stream | None]:
    """Which stream is the melody and which the bass."""
    staves = score.staves()
    sounding = [[stream for stream in staff if stream.found] for staff in staves]
    count = sum(len(staff) for staff in sounding)
    if count == 0:
        raise InputError("There are no notes in the file: choose one with a melody or a bass.")
    if count > 2:
        third = [stream for staff in sounding for stream in staff][2]
        raise ScopeError(
            f"There is a third voice ({third.name}, first in bar {third.found[0].bar}): an arrangement has "
            "two lines, so take the other voices out."
        )
    first, *others = [stream for staff in sounding for stream in staff]
    if others:
        return first, others[0]
    voices = next(staff for staff in staves if first in staff)
    return (None, first) if voices.index(first) > 0 else (first, None)
