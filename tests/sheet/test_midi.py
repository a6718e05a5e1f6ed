"""MIDI files against mido's and music21's own readers, and against the note numbers of MIDI 1.0."""

import io
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction

import mido
import music21
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coach.errors import CoachError, InputError, LineError, ScopeError, TooLargeError
from coach.music.key import Key
from coach.music.meter import Meter
from coach.music.pitch import Pitch
from coach.notation import Arrangement, Line, LineKind, Note, Section
from coach.sheet import read_arrangement, read_midi, write_midi
from tests.strategies import arrangements


def line(kind: LineKind, *notes: tuple[str, str, str]) -> Line:
    return Line(kind, tuple(Note(Fraction(o), Fraction(d), Pitch.parse(n)) for o, d, n in notes))


SMALL = Arrangement(
    title="Kleine Übung",
    meter=Meter(3, 4),
    key=Key("D", 0),
    tempo_bpm=84,
    melody=line(
        LineKind.MELODY, ("0", "2/3", "A4"), ("2/3", "4/3", "F#4"), ("2", "1/16", "E4"), ("3", "5", "D4")
    ),
    bass=line(LineKind.BASS, ("1", "3", "D3"), ("4", "3", "A2")),
    pickup=Fraction(1),
    capo=2,
    sections=(Section("A", Fraction(0)), Section("B", Fraction(4))),
)


def sounded(track: mido.MidiTrack) -> list[tuple[Fraction, Fraction, int]]:
    now = 0
    starts: dict[int, int] = {}
    found = []
    for message in track:
        now += message.time
        if message.type == "note_on":
            starts[message.note] = now
        elif message.type == "note_off":
            start = starts.pop(message.note)
            found.append((Fraction(start, 480), Fraction(now - start, 480), message.note))
    return found


def model(line_: Line) -> list[tuple[Fraction, Fraction, int]]:
    return [(note.onset, note.duration, note.midi) for note in line_]


@given(arrangements())
def test_mido_finds_exactly_the_notes_of_the_model(arrangement: Arrangement) -> None:
    file = mido.MidiFile(file=io.BytesIO(write_midi(arrangement)))
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (1, 480, 3)
    assert [track.name for track in file.tracks[1:]] == ["Melody", "Bass"]
    assert sounded(file.tracks[1]) == model(arrangement.melody)
    assert sounded(file.tracks[2]) == model(arrangement.bass)


def test_music21_finds_exactly_the_notes_of_the_model() -> None:
    midi = music21.midi.MidiFile()
    midi.readstr(write_midi(SMALL))
    for track, part in zip(midi.tracks[1:], SMALL.lines, strict=True):
        now = 0
        onsets = []
        for event in track.events:
            now += event.time if event.isDeltaTime() else 0
            if event.isNoteOn():
                onsets.append((Fraction(now, midi.ticksPerQuarterNote), event.pitch))
        assert onsets == [(note.onset, note.midi) for note in part]


def test_the_conductor_names_title_tempo_meter_key_and_marks() -> None:
    file = mido.MidiFile(file=io.BytesIO(write_midi(SMALL)), charset="utf-8")
    by_type = {message.type: message for message in file.tracks[0]}
    assert by_type["track_name"].name == "Kleine Übung"
    assert mido.tempo2bpm(by_type["set_tempo"].tempo) == pytest.approx(84, abs=1e-4)  # whole microseconds
    assert (by_type["time_signature"].numerator, by_type["key_signature"].key) == (3, "D")
    assert [message.text for message in file.tracks[0] if message.type == "marker"] == ["A", "B"]


def plain(arrangement: Arrangement) -> Arrangement:
    """The arrangement without what MIDI cannot hold: places, words under notes."""

    def bare(part: Line) -> Line:
        return Line(part.kind, tuple(replace(note, place=None, syllable=None) for note in part))

    return replace(arrangement, melody=bare(arrangement.melody), bass=bare(arrangement.bass))


@given(arrangements(places=False))
def test_what_is_written_reads_back_equal(arrangement: Arrangement) -> None:
    assume(arrangement.melody.notes and arrangement.bass.notes)
    assert read_midi(write_midi(arrangement)) == plain(arrangement)


def test_a_small_piece_reads_back_by_its_content_whatever_its_name() -> None:
    assert read_arrangement(write_midi(SMALL), "piece.json") == SMALL


def midi_of(*tracks: tuple[str, list[tuple[int, int, int, int]]], kind: int = 1, ticks: int = 96) -> bytes:
    """Tracks of (channel, MIDI number, onset, end) in ticks."""
    file = mido.MidiFile(type=kind, ticks_per_beat=ticks)
    for name, notes in tracks:
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)] if name else [])
        events = [(on, 1, c, n) for c, n, on, _ in notes] + [(off, 0, c, n) for c, n, _, off in notes]
        now = 0
        for tick, struck, channel, number in sorted(events):
            kind_ = "note_on" if struck else "note_off"
            track.append(mido.Message(kind_, channel=channel, note=number, time=tick - now))
            now = tick
        file.tracks.append(track)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


LOW = [(0, 40, 0, 96), (0, 43, 96, 192)]
HIGH = [(0, 64, 0, 48), (0, 67, 96, 192)]


def test_the_higher_mean_is_the_melody() -> None:
    arrangement = read_midi(midi_of(("", LOW), ("", HIGH)))
    assert [note.midi for note in arrangement.melody] == [64, 67]
    assert arrangement.melody.notes[0].duration == Fraction(1, 2)


def test_names_go_before_pitch() -> None:
    assert [n.midi for n in read_midi(midi_of(("My Melody", LOW), ("x", HIGH))).melody] == [40, 43]
    assert [n.midi for n in read_midi(midi_of(("x", LOW), ("the bass", HIGH))).melody] == [40, 43]
    assert [n.midi for n in read_midi(midi_of(("x", LOW), ("melody", HIGH))).melody] == [64, 67]


def test_two_channels_of_one_track_are_two_lines() -> None:
    both = LOW + [(1, number, on, off) for _, number, on, off in HIGH]
    arrangement = read_midi(midi_of(("", both), kind=0))
    assert [note.midi for note in arrangement.bass] == [40, 43]


@pytest.mark.parametrize(
    ("data", "error"),
    [
        (midi_of(("", HIGH)), InputError),
        (midi_of(("", HIGH), ("", LOW), ("", LOW)), ScopeError),
        (midi_of(("", [*HIGH, (0, 65, 24, 60)]), ("", LOW)), LineError),
        (midi_of(("", [(0, 60, 0, 7)]), ("", LOW)), LineError),
        (midi_of(("", HIGH), ("", LOW))[:-9], CoachError),
        (b"MThd", CoachError),
    ],
)
def test_what_is_not_two_lines_is_refused_in_a_sentence(data: bytes, error: type[CoachError]) -> None:
    with pytest.raises(error) as caught:
        read_midi(data)
    assert "\n" not in caught.value.message


def test_more_than_a_megabyte_is_refused() -> None:
    with pytest.raises(TooLargeError):
        read_midi(b"MThd" + bytes(1_000_000))


@settings(max_examples=150)
@given(st.binary(max_size=80), st.integers(0, 400), st.binary(max_size=4))
def test_no_bytes_raise_anything_but_an_error_for_the_user(tail: bytes, at: int, wrong: bytes) -> None:
    good = write_midi(SMALL)
    for data in (b"MThd" + tail, good[:at] + wrong + good[at + len(wrong) :], good[:at] + tail):
        with suppress(CoachError):
            read_midi(data)
