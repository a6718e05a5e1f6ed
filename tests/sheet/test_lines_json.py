"""Lines JSON against Python's own JSON reader (RFC 8259) and the published field names of the format."""

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import CoachError, InputError, TooLargeError
from coach.music.key import Key
from coach.music.pitch import Pitch
from coach.notation import Arrangement, Place
from coach.sheet import read_arrangement, read_lines, write_lines
from tests.strategies import arrangements

SMALL = {
    "format": 1,
    "title": "Small song",
    "meter": "3/4",
    "key": "Bb",
    "tempo_bpm": 92,
    "pickup": "1/2",
    "capo": 2,
    "melody": [
        {"onset": "0", "duration": "1/2", "midi": 70},
        {"onset": "1/2", "duration": "4/3", "midi": 75},
    ],
    "bass": [{"onset": "1/2", "duration": "3", "midi": 46}],
    "sections": [{"name": "A", "onset": "0"}],
}


def read(value: object) -> Arrangement:
    return read_arrangement(json.dumps(value).encode(), "small.json")


def with_note(**fields: object) -> dict[str, object]:
    return SMALL | {"melody": [SMALL["melody"][0] | fields]}


def test_every_field_is_read() -> None:
    arrangement = read(SMALL)
    assert (arrangement.title, str(arrangement.meter), arrangement.key) == ("Small song", "3/4", Key("B", -1))
    assert (arrangement.tempo_bpm, arrangement.pickup, arrangement.capo) == (92.0, Fraction(1, 2), 2)
    assert [(note.onset, note.duration, note.midi) for note in arrangement.melody] == [
        (0, Fraction(1, 2), 70),
        (Fraction(1, 2), Fraction(4, 3), 75),
    ]
    assert arrangement.melody.notes[1].pitch == Pitch("E", -1, 5)
    assert [note.midi for note in arrangement.bass] == [46]
    assert arrangement.sections[0].name == "A"


def test_what_is_written_has_exactly_the_keys_of_the_format() -> None:
    written = json.loads(write_lines(read(SMALL)))
    assert list(written) == list(SMALL)
    assert written == SMALL


@given(arrangements())
def test_what_is_written_reads_back_equal(arrangement: Arrangement) -> None:
    assert read_lines(write_lines(arrangement)) == arrangement


def test_a_spelling_of_its_own_and_a_chosen_place_survive() -> None:
    arrangement = read(with_note(name="A#4", string=1, fret=6))
    note = arrangement.melody.notes[0]
    assert (note.pitch, note.place) == (Pitch("A", 1, 4), Place(1, 6))
    assert read_lines(write_lines(arrangement)) == arrangement


def test_unknown_keys_and_the_order_of_notes_do_not_matter() -> None:
    turned = SMALL | {
        "melody": [*reversed(SMALL["melody"])],
        "colour": "blue",
        "bass": [{"x": 1} | SMALL["bass"][0]],
    }
    assert read(turned) == read(SMALL)


def test_lines_may_cross() -> None:
    assert read(SMALL | {"bass": [{"onset": "0", "duration": "1", "midi": 90}]}).bass.notes[0].midi == 90


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (with_note(duration="0"), "Melody note 1"),
        (with_note(duration="-1/2"), "Melody note 1"),
        (with_note(duration="1/5"), "1/5"),
        (with_note(onset="1/7"), "Melody note 1"),
        (with_note(onset="-1"), "Melody note 1"),
        (with_note(midi=128), "midi of melody note 1"),
        (with_note(midi="C4"), "midi of melody note 1"),
        (with_note(midi=60.5), "midi of melody note 1"),
        (with_note(onset="soon"), "onset of melody note 1"),
        (with_note(onset="1/0"), "onset of melody note 1"),
        (with_note(onset="9" * 5000), "onset of melody note 1"),
        (with_note(onset=None), "onset of melody note 1"),
        (with_note(string=7, fret=0), "string of melody note 1"),
        (SMALL | {"melody": [3]}, "melody note 1"),
        (SMALL | {"melody": {}}, "melody"),
        (
            SMALL
            | {
                "bass": [
                    {"onset": "0", "duration": "2", "midi": 40},
                    {"onset": "1", "duration": "1", "midi": 43},
                ]
            },
            "G2 at quarter 1",
        ),
        (SMALL | {"key": "H"}, "H"),
        (SMALL | {"meter": "3"}, "meter"),
        (SMALL | {"pickup": "3"}, "upbeat"),
        (SMALL | {"capo": 99}, "capo"),
        (SMALL | {"tempo_bpm": 0}, "tempo"),
        (SMALL | {"tempo_bpm": "quick"}, "tempo_bpm"),
        (SMALL | {"sections": [{"name": "", "onset": "0"}]}, "Section 1"),
        (SMALL | {"format": 2}, "format"),
        ({"format": 1}, "melody"),
        ([], "object"),
    ],
)
def test_each_wrong_field_is_named_in_one_sentence(value: object, words: str) -> None:
    with pytest.raises(InputError) as caught:
        read(value)
    assert words in caught.value.message
    assert len(caught.value.message) < 300
    assert "\n" not in caught.value.message


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"  \n",
        b"{",
        b'{"melody": [NaN]}',
        b'{"melody": ' + b"[" * 100_000,
        b"{\xff}",
        b"hello",
        b"PK\x03\x04rest",
        b'{"melody": [], "tempo_bpm": ' + b"1" * 5000 + b"}",
    ],
)
def test_a_broken_file_is_one_clear_sentence(data: bytes) -> None:
    with pytest.raises(CoachError) as caught:
        read_arrangement(data, "broken.json")
    assert "\n" not in caught.value.message


def test_more_than_ten_megabytes_is_refused() -> None:
    with pytest.raises(TooLargeError):
        read_arrangement(b"{" + b" " * 10_000_000, "big.json")


@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_no_bytes_raise_anything_but_an_error_for_the_user(data: bytes) -> None:
    for start in (b"", b"{", b'{"melody": '):
        with pytest.raises(InputError):
            read_arrangement(start + data + b"\x00", "noise.json")
