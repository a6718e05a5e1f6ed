"""Reading MusicXML that other programs wrote: layouts, limits, and what is refused.

The small documents are written by hand after the MusicXML 4.0 specification and checked against its schema.
"""

import re
from contextlib import suppress
from fractions import Fraction

import music21
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.errors import CoachError, InputError, ScopeError
from coach.music.pitch import Pitch
from coach.notation import Arrangement, Place
from coach.sheet import read_arrangement, read_musicxml
from tests.musicxml_schema import schema_faults

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
ATTRIBUTES = (
    "<attributes><divisions>2</divisions><key><fifths>1</fifths></key>"
    "<time><beats>3</beats><beat-type>4</beat-type></time>{more}</attributes>"
)


def note(name: str, length: int, *, voice: int = 1, staff: int = 0, inside: str = "", after: str = "") -> str:
    pitch = "<rest/>"
    if name != "rest":
        alter = "<alter>1</alter>" if "#" in name else ""
        pitch = f"<pitch><step>{name[0]}</step>{alter}<octave>{name[-1]}</octave></pitch>"
    on = f"<staff>{staff}</staff>" if staff else ""
    return f"<note>{pitch}<duration>{length}</duration>{inside}<voice>{voice}</voice>{on}{after}</note>"


def back(length: int) -> str:
    return f"<backup><duration>{length}</duration></backup>"


def score(*parts: list[str], more: str = "", first: str = 'number="1"') -> bytes:
    listed = "".join(
        f'<score-part id="P{i}"><part-name>x</part-name></score-part>' for i in range(1, len(parts) + 1)
    )
    body = ""
    for i, measures in enumerate(parts, 1):
        body += f'<part id="P{i}">'
        for number, content in enumerate(measures):
            start = first if number == 0 else f'number="{number + 1}"'
            head = ATTRIBUTES.format(more=more) if number == 0 else ""
            body += f"<measure {start}>{head}{content}</measure>"
        body += "</part>"
    text = f'{HEAD}<score-partwise version="4.0"><part-list>{listed}</part-list>{body}</score-partwise>'
    data = text.encode()
    assert schema_faults(data) == []
    return data


def rows(arrangement: Arrangement) -> tuple[list[tuple[Fraction, Fraction, str]], ...]:
    return tuple(
        [(note.onset, note.duration, note.pitch.name) for note in line] for line in arrangement.lines
    )


def test_two_voices_of_one_part() -> None:
    bar = note("G4", 2, voice=2) + note("F#4", 4, voice=2) + back(6) + note("E3", 6, voice=5)
    assert rows(read_arrangement(score([bar]), "x")) == (
        [(0, 1, "G4"), (1, 2, "F#4")],
        [(0, 3, "E3")],
    )


def test_two_parts_and_two_staves_of_one_voice_each() -> None:
    expected = ([(0, 3, "G4")], [(0, 3, "E3")])
    assert rows(read_musicxml(score([note("G4", 6)], [note("E3", 6)]))) == expected
    staves = note("G4", 6, staff=1) + back(6) + note("E3", 6, voice=5, staff=2)
    assert rows(read_musicxml(score([staves], more="<staves>2</staves>"))) == expected


def test_ties_over_the_bar_are_one_note() -> None:
    tied = note("G4", 6, inside='<tie type="start"/>'), note("G4", 2, inside='<tie type="stop"/>')
    assert rows(read_musicxml(score([*tied])))[0] == [(0, 4, "G4")]


def test_the_upbeat_is_a_first_bar_cut_short() -> None:
    measures = [note("D4", 2), note("G4", 6)]
    for first in ('number="0" implicit="yes"', 'number="0"', 'number="1"'):
        arrangement = read_musicxml(score(measures, first=first))
        assert arrangement.pickup == 1
        assert rows(arrangement)[0] == [(0, 1, "D4"), (1, 3, "G4")]


def test_a_tab_staff_gives_the_places() -> None:
    place = "<notations><technical><string>{}</string><fret>{}</fret></technical></notations>"
    staff = note("G4", 6, staff=1) + back(6) + note("E3", 6, voice=2, staff=1) + back(6)
    tab = note("G4", 6, voice=5, staff=2, after=place.format(1, 3)) + back(6)
    tab += note("E3", 6, voice=6, staff=2, after=place.format(4, 2))
    clefs = (
        '<staves>2</staves><clef number="1"><sign>G</sign><line>2</line></clef>'
        '<clef number="2"><sign>TAB</sign><line>5</line></clef>'
    )
    melody, bass = read_musicxml(score([staff + tab], more=clefs)).lines
    assert (melody.notes[0].place, bass.notes[0].place) == (Place(1, 3), Place(4, 2))


def test_a_tab_staff_alone_is_read() -> None:
    clef = "<clef><sign>TAB</sign><line>5</line></clef>"
    bar = note(
        "G4", 6, after="<notations><technical><string>1</string><fret>3</fret></technical></notations>"
    )
    assert read_musicxml(score([bar], more=clef)).melody.notes[0].place == Place(1, 3)


def test_transposed_parts_are_read_at_their_sounding_pitch() -> None:
    octave = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    assert read_musicxml(score([note("E4", 6)], more=octave)).melody.notes[0].pitch == Pitch("E", 0, 3)
    second = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    assert read_musicxml(score([note("E4", 6)], more=second)).melody.notes[0].pitch == Pitch("D", 0, 4)


def test_what_music21_writes_is_read() -> None:
    stream = music21.converter.parse("tinyNotation: 3/4 d4 trip{g8 a b} c'4 d'2.~ d'4 c'#4 r4")
    path = stream.write("musicxml")
    arrangement = read_arrangement(path.read_bytes(), path.name)
    third = Fraction(1, 3)
    assert rows(arrangement)[0] == [
        (0, 1, "D4"), (1, third, "G4"), (1 + third, third, "A4"), (1 + 2 * third, third, "B4"), (2, 1, "C5"),
        (3, 4, "D5"), (7, 1, "C#5"),
    ]  # fmt: skip


CHORD = note("G4", 6) + note("B4", 6).replace("<note>", "<note><chord/>")
GRACE = "<note><grace/><pitch><step>G</step><octave>4</octave></pitch><voice>1</voice></note>" + note("G4", 6)
THIRD = "".join(note(n, 6, voice=v) + back(6) for v, n in ((1, "G4"), (2, "D4"), (3, "G3")))
METER = note("G4", 6), "<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"


@pytest.mark.parametrize(
    ("data", "error", "words"),
    [
        (score([CHORD]), InputError, "chord"),
        (score([GRACE]), InputError, "grace"),
        (score([THIRD]), ScopeError, "voice 3"),
        (score([note("G4", 6)], [note("D4", 6)], [note("G3", 6)]), ScopeError, "part 3"),
        (score([METER[0], METER[1] + note("G4", 8)]), InputError, "bar 2"),
        (score([note("G4", 8)]), InputError, "Bar 1"),
        (score([note("rest", 6)]), InputError, "no notes"),
        (score([note("G4", 1) + note("A4", 5)]).replace(b">2</div", b">10</div"), InputError, "G4"),
        (score([note("G4", 6)]).replace(b"<divisions>2</divisions>", b""), InputError, "divisions"),
        (score([note("G4", 6)]).replace(b"<duration>6</duration>", b""), InputError, "bar 1"),
        (score([note("G4", 6)]).replace(b"<step>G", b"<step>H"), InputError, "bar 1"),
        (score([note("G4", 6)])[:-40], InputError, "broken"),
        (score([note("G4", 6)]).replace(b"partwise", b"timewise"), InputError, "partwise"),
        (b"<html><body/></html>", InputError, "not MusicXML"),
        (b"PK\x03\x04" + bytes(50), InputError, "compressed"),
        (b"<a>" * 100_000, InputError, "deep"),
    ],
)
def test_what_an_arrangement_cannot_hold_is_said(data: bytes, error: type[CoachError], words: str) -> None:
    with pytest.raises(error) as caught:
        read_arrangement(data, "theirs.musicxml")
    assert words in caught.value.message
    assert "\n" not in caught.value.message


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entities_are_refused_before_they_are_expanded(encoding: str) -> None:
    text = score([note("G4", 6)]).decode().replace("UTF-8", encoding)
    laughs = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10 if i else "ha"}">' for i in range(12))
    outside = '<!ENTITY x SYSTEM "file:///etc/passwd">'
    for declared in (laughs, outside, '<!ENTITY % p SYSTEM "http://127.0.0.1/">%p;'):
        evil = text.replace("<score-partwise", f"<!DOCTYPE score-partwise [{declared}]><score-partwise", 1)
        with pytest.raises(InputError, match="entity"):
            read_arrangement(evil.encode(encoding), "evil.xml")


def test_utf_16_is_read() -> None:
    text = score([note("G4", 6)]).decode().replace("UTF-8", "UTF-16")
    assert rows(read_arrangement(text.encode("utf-16"), "x.xml"))[0] == [(0, 3, "G4")]


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 900), st.text(max_size=6), st.integers(0, 12))
def test_a_damaged_document_raises_nothing_but_an_error_for_the_user(at: int, put: str, less: int) -> None:
    good = score([note("G4", 2, voice=1) + note("F#4", 4) + back(6) + note("E3", 6, voice=5)]).decode()
    with suppress(CoachError):
        read_musicxml((good[:at] + put + good[at + less :]).encode())


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(range(12)), st.text("0123456789-.e/xG", max_size=12))
def test_any_number_in_any_field_is_an_answer_or_an_error(which: int, value: str) -> None:
    good = score([note("G4", 2, voice=1) + note("F#4", 4) + back(6) + note("E3", 6, voice=5)]).decode()
    fields = list(re.finditer(r">([0-9]+)<", good))
    field = fields[which % len(fields)]
    with suppress(CoachError):
        read_musicxml((good[: field.start(1)] + value + good[field.end(1) :]).encode())
