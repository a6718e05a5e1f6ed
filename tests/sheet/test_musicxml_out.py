"""MusicXML against the published 4.0 schema and against music21's reader."""

from fractions import Fraction

import music21
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coach.music.key import Key
from coach.music.meter import Meter
from coach.music.pitch import Pitch
from coach.notation import Arrangement, Line, LineKind, Note
from coach.sheet import read_arrangement, read_lines, read_musicxml, write_lines, write_musicxml
from tests.musicxml_schema import schema_faults
from tests.sheet_pieces import OPEN, fingered_piece
from tests.strategies import arrangements


@settings(max_examples=60, deadline=None)
@given(arrangements())
def test_every_document_is_valid_musicxml(arrangement: Arrangement) -> None:
    assert schema_faults(write_musicxml(arrangement)) == []


def test_a_fingered_document_is_valid_and_the_validator_bites() -> None:
    arrangement, fingering = fingered_piece()
    data = write_musicxml(arrangement, fingering)
    assert schema_faults(data) == []
    assert schema_faults(data.replace(b"<step>D</step>", b"<step>H</step>", 1))
    assert schema_faults(data.replace(b"<string>2</string>", b"<string>0</string>", 1))


@settings(max_examples=100, deadline=None)
@given(arrangements())
def test_what_is_written_reads_back_equal(arrangement: Arrangement) -> None:
    assume(arrangement.melody.notes or arrangement.bass.notes)
    through_lines = read_lines(write_lines(arrangement))
    assert read_musicxml(write_musicxml(through_lines)) == arrangement


def heard_by_music21(data: bytes) -> dict[str, list[tuple[Fraction, Fraction, str]]]:
    """Onset, duration and name with octave of the staff's notes by voice, tied ones joined."""
    score = music21.converter.parseData(data.decode(), format="musicxml")
    found: dict[str, list[tuple[Fraction, Fraction, str]]] = {"1": [], "2": []}
    part = score.parts[0]
    for note in part.recurse().notes:
        voice = note.activeSite.id if isinstance(note.activeSite, music21.stream.Voice) else "1"
        onset = Fraction(note.getOffsetInHierarchy(part)).limit_denominator(96)
        duration = Fraction(note.duration.quarterLength).limit_denominator(96)
        if note.tie is not None and note.tie.type in {"stop", "continue"}:
            onset, before, _ = found[voice].pop()
            duration += before
        found[voice].append((onset, duration, note.pitch.nameWithOctave.replace("-", "b")))
    return found


def written(line: Line) -> list[tuple[Fraction, Fraction, str]]:
    return [(note.onset, note.duration, note.pitch.name) for note in line]


@settings(max_examples=12, deadline=None)
@given(arrangements(most=6))
def test_music21_reads_the_same_notes(arrangement: Arrangement) -> None:
    heard = heard_by_music21(write_musicxml(arrangement))
    assert heard == {"1": written(arrangement.melody), "2": written(arrangement.bass)}


def test_music21_reads_the_same_strings_frets_and_fingers() -> None:
    arrangement, fingering = fingered_piece()
    score = music21.converter.parseData(write_musicxml(arrangement, fingering).decode(), format="musicxml")
    places = set()
    for note in score.parts[1].recurse().notes:
        strings = [
            a.number for a in note.articulations if isinstance(a, music21.articulations.StringIndication)
        ]
        frets = [a.number for a in note.articulations if isinstance(a, music21.articulations.FretIndication)]
        if note.tie is None or note.tie.type == "start":
            onset = Fraction(note.getOffsetInHierarchy(score)).limit_denominator(96)
            places.add((onset, note.pitch.midi, strings[0], frets[0]))
    assert places == {
        (mark.onset, OPEN[mark.string] + mark.fret, mark.string, mark.fret) for mark in fingering.notes
    }
    fingers = [
        a.fingerNumber
        for note in score.parts[0].recurse().notes
        for a in note.articulations
        if type(a) is music21.articulations.Fingering
    ]
    assert sorted(fingers) == sorted(mark.finger for mark in fingering.notes if mark.finger)
    assert score.parts[0].getElementsByClass("Measure")[0].paddingLeft == 3  # an upbeat of one quarter


def test_a_fingering_reads_back_as_the_players_places() -> None:
    arrangement, fingering = fingered_piece()
    again = read_arrangement(write_musicxml(arrangement, fingering), "piece.musicxml")
    marks = {(mark.line, mark.onset): mark.place for mark in fingering.notes}
    for line in again.lines:
        assert [note.place for note in line] == [marks[line.kind, note.onset] for note in line]
    assert (again.pickup, again.tempo_bpm, again.sections) == (1, 84, arrangement.sections)


@pytest.mark.parametrize("fifths", [-7, -4, -1, 0, 2, 5, 7])
def test_spelling_survives_in_flat_and_sharp_keys(fifths: int) -> None:
    key = Key.of_fifths(fifths)
    notes = tuple(Note(Fraction(i), Fraction(1), key.spell(59 + i)) for i in range(13))
    arrangement = Arrangement("Scale", Meter(4, 4), key, 60, Line(LineKind.MELODY, notes))
    assert heard_by_music21(write_musicxml(arrangement))["1"] == written(arrangement.melody)


@given(st.text(max_size=30))
def test_any_title_makes_a_valid_document(title: str) -> None:
    arrangement = Arrangement(title, Meter(4, 4), Key("C", 0), 60)
    data = write_musicxml(arrangement)
    assert schema_faults(data) == []
    assert b"<!ENTITY" not in data


def test_a_bass_alone_stays_the_bass() -> None:
    bass = Line(LineKind.BASS, (Note(Fraction(0), Fraction(4), Pitch("E", 0, 2)),))
    arrangement = Arrangement("Low", Meter(4, 4), Key("C", 0), 60, bass=bass)
    assert read_musicxml(write_musicxml(arrangement)) == arrangement
