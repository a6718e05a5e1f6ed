"""Standard MIDI File in: exactly two tracks (or channels) holding notes, nothing quantised."""

import io
from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from statistics import fmean

import mido

from coach.errors import InputError, LineError, ScopeError, UnreadableFileError
from coach.music.key import Key
from coach.music.meter import Meter
from coach.notation.arrangement import DEFAULT_TEMPO_BPM, Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import Note
from coach.notation.section import Section
from coach.sheet.limits import MAX_MIDI_BYTES, check_size
from coach.sheet.text import CAPO_WORDS, clean_words

_MARK = b"MThd"


@dataclass(slots=True)
class _Struck:
    """The notes of one track or channel: [onset tick, length in ticks, MIDI number]."""

    name: str
    notes: list[tuple[int, int, int]] = field(default_factory=list)


@dataclass(slots=True)
class _Frame:
    """What stands beside the notes."""

    title: str = ""
    tempo_us: int | None = None
    meters: list[tuple[int, Meter]] = field(default_factory=list)
    key: Key = field(default_factory=lambda: Key("C", 0))
    capo: int = 0
    markers: list[tuple[int, str]] = field(default_factory=list)


def read_midi(data: bytes, name: str = "piece.mid") -> Arrangement:
    """Read a Standard MIDI File of type 0 or 1.

    Two tracks with notes are the two lines; in a single track two channels are. A name with "melody" or
    "bass" in it decides which is which, else the higher mean pitch is the melody.

    Raises
    ------
    InputError
        Where the file is broken, times in frames a second, has more or fewer than two lines with notes, or a
        line in which two notes sound at once or a time is not on a musical grid; the note is named.
    """
    check_size(data, name, MAX_MIDI_BYTES)
    file = _parsed(data, name)
    if file.ticks_per_beat <= 0 or file.type not in {0, 1}:
        raise UnreadableFileError(
            f"“{name}” counts time in film frames or holds separate patterns: export it as MIDI type 0 or 1."
        )
    frame, struck = _collected(file)
    melody, bass = _told_apart(struck, name)
    per_quarter = file.ticks_per_beat
    meter, pickup = _meter(frame, per_quarter)
    return Arrangement(
        title=frame.title or "Untitled",
        meter=meter,
        key=frame.key,
        tempo_bpm=_tempo_bpm(frame.tempo_us),
        melody=_line(LineKind.MELODY, melody, frame.key, per_quarter),
        bass=_line(LineKind.BASS, bass, frame.key, per_quarter),
        pickup=pickup,
        capo=frame.capo,
        sections=tuple(Section(words, Fraction(tick, per_quarter)) for tick, words in frame.markers),
    )


def _parsed(data: bytes, name: str) -> mido.MidiFile:
    if not data.startswith(_MARK):
        raise UnreadableFileError(f"“{name}” is not a MIDI file: choose one that ends in .mid.")
    try:
        return mido.MidiFile(file=io.BytesIO(data), charset="latin-1", clip=True)
    except (OSError, EOFError, ValueError, LookupError, TypeError, mido.KeySignatureError) as error:
        raise UnreadableFileError(f"“{name}” is a broken MIDI file: export it again.") from error


def _collected(file: mido.MidiFile) -> tuple[_Frame, list[_Struck]]:
    frame = _Frame()
    found: list[_Struck] = []
    for index, track in enumerate(file.tracks):
        by_channel: dict[int, _Struck] = {}
        open_notes: dict[tuple[int, int], list[int]] = defaultdict(list)
        track_name = ""
        now = 0
        for message in track:
            now += message.time
            if message.type in {"note_on", "note_off"}:
                _take_note(message, now, open_notes, by_channel)
            elif message.type == "track_name":
                track_name = _words(message.name)
                frame.title = track_name if index == 0 else frame.title
            elif message.is_meta:
                _take_meta(frame, message, now)
        hanging = [key for key, starts in open_notes.items() if starts]
        if hanging:
            raise LineError(
                f"MIDI note {hanging[0][1]} in track {index + 1} never ends: export the file again."
            )
        for part in by_channel.values():
            part.name = track_name
            found.append(part)
    return frame, found


def _take_note(
    message: mido.Message,
    now: int,
    open_notes: dict[tuple[int, int], list[int]],
    by_channel: dict[int, _Struck],
) -> None:
    key = (message.channel, message.note)
    if message.type == "note_on" and message.velocity:
        open_notes[key].append(now)
    elif open_notes[key]:
        start = open_notes[key].pop(0)
        by_channel.setdefault(message.channel, _Struck("")).notes.append((start, now - start, message.note))


def _take_meta(frame: _Frame, message: mido.MetaMessage, now: int) -> None:
    match message.type:
        case "set_tempo" if frame.tempo_us is None:
            frame.tempo_us = message.tempo
        case "time_signature":
            try:
                frame.meters.append((now, Meter(message.numerator, message.denominator)))
            except ValueError as error:
                raise InputError(
                    f"A meter of {message.numerator}/{message.denominator} is not read: use for example 4/4."
                ) from error
        case "key_signature":
            frame.key = Key.parse(message.key) if now == 0 else frame.key
        case "text":
            match = CAPO_WORDS.fullmatch(_words(message.text))
            frame.capo = int(match[1]) if match else frame.capo
        case "marker" if _words(message.text):
            frame.markers.append((now, _words(message.text)))
        case _:
            pass


def _words(text: str) -> str:
    """Text read as Latin-1, taken as UTF-8 where it is that (the file format leaves it open)."""
    try:
        return clean_words(text.encode("latin-1").decode("utf-8"))
    except UnicodeError:
        return clean_words(text)


def _told_apart(parts: list[_Struck], name: str) -> tuple[_Struck, _Struck]:
    if len(parts) > 2:
        raise ScopeError(
            f"“{name}” has {len(parts)} tracks or channels with notes: keep two, the melody and the bass."
        )
    if len(parts) < 2:
        raise InputError(
            f"“{name}” has {len(parts)} tracks or channels with notes: two are needed, melody and bass."
        )
    first, second = parts
    names = (first.name.lower(), second.name.lower())
    if "bass" in names[0] or "melody" in names[1]:
        first_is_melody = "melody" in names[0] and "bass" not in names[0]
    elif "melody" in names[0] or "bass" in names[1]:
        first_is_melody = True
    else:
        first_is_melody = fmean(n for *_, n in first.notes) >= fmean(n for *_, n in second.notes)
    return (first, second) if first_is_melody else (second, first)


def _meter(frame: _Frame, per_quarter: int) -> tuple[Meter, Fraction]:
    """Meter and upbeat: a meter stated again inside the first bar begins that bar there."""
    if not frame.meters:
        return Meter(4, 4), Fraction(0)
    meters = sorted(frame.meters, key=lambda item: item[0])
    first = meters[0][1]
    early = [(Fraction(tick, per_quarter), meter) for tick, meter in meters]
    pickup, meter = early[0]
    for time, stated in early[1:]:
        if pickup == 0 and time < max(first.bar, stated.bar):
            pickup, meter = time, stated
        elif stated != meter:
            raise InputError(
                f"The meter changes to {stated} at quarter {time}: an arrangement keeps one meter throughout."
            )
    return meter, pickup if pickup < meter.bar else Fraction(0)


def _tempo_bpm(tempo_us: int | None) -> float:
    """Quarter notes a minute, with as few decimals as give the same microseconds back."""
    if not tempo_us:
        return DEFAULT_TEMPO_BPM
    exact = 60e6 / tempo_us
    return next((b for b in (round(exact, d) for d in range(5)) if mido.bpm2tempo(b) == tempo_us), exact)


def _line(kind: LineKind, part: _Struck, key: Key, per_quarter: int) -> Line:
    return Line.of(
        kind,
        [
            Note(Fraction(onset, per_quarter), Fraction(length, per_quarter), key.spell(midi))
            for onset, length, midi in part.notes
        ],
    )
