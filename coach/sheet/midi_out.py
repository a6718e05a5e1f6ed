"""Standard MIDI File out: type 1, 480 ticks a quarter, a conductor track, "Melody" and "Bass"."""

import io
from fractions import Fraction

import mido

from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.sheet.text import clean_words

TICKS_PER_QUARTER = 480
"""Divisible by every denominator that a note may have, so that times stay exact."""
CHARSET = "utf-8"
NYLON_GUITAR = 24
"""General MIDI level 1, program 25 of 128: acoustic guitar (nylon), counted from 0 on the wire."""
_VELOCITY = 80


def write_midi(arrangement: Arrangement) -> bytes:
    """An arrangement as a Standard MIDI File; onsets, durations and pitches are exactly the model's.

    An upbeat is written by stating the meter a second time where the first full bar begins, the capo as a
    text ``Capo 2`` (MIDI has no word for either), sections as markers.
    """
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER, charset=CHARSET)
    file.tracks.append(_track("", _conductor(arrangement)))
    for channel, line in enumerate(arrangement.lines):
        file.tracks.append(
            _track("Melody" if line.kind is LineKind.MELODY else "Bass", _events(line, channel))
        )
    file.tracks[0].insert(0, mido.MetaMessage("track_name", name=clean_words(arrangement.title)))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def ticks(time: Fraction) -> int:
    """A musical time in ticks; ``ValueError`` where it is not a whole number of them."""
    exact = time * TICKS_PER_QUARTER
    if exact.denominator != 1:
        raise ValueError(f"{time} quarters are not a whole number of ticks")
    return int(exact)


def _track(name: str, timed: list[tuple[int, mido.Message]]) -> mido.MidiTrack:
    track = mido.MidiTrack()
    if name:
        track.append(mido.MetaMessage("track_name", name=name))
    now = 0
    for tick, message in timed:
        track.append(message.copy(time=tick - now))
        now = tick
    return track


def _conductor(arrangement: Arrangement) -> list[tuple[int, mido.Message]]:
    meter = mido.MetaMessage(
        "time_signature", numerator=arrangement.meter.count, denominator=arrangement.meter.unit
    )
    timed = [
        (0, mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(arrangement.tempo_bpm))),
        (0, meter),
        (0, mido.MetaMessage("key_signature", key=arrangement.key.name)),
    ]
    if arrangement.capo:
        timed.append((0, mido.MetaMessage("text", text=f"Capo {arrangement.capo}")))
    later = [
        (ticks(section.onset), mido.MetaMessage("marker", text=clean_words(section.name)))
        for section in arrangement.sections
    ]
    if arrangement.pickup:
        later.append((ticks(arrangement.pickup), meter))
    return timed + sorted(later, key=lambda item: item[0])


def _events(line: Line, channel: int) -> list[tuple[int, mido.Message]]:
    timed = [(0, mido.Message("program_change", channel=channel, program=NYLON_GUITAR))]
    for note in line:
        timed.append(
            (ticks(note.onset), mido.Message("note_on", channel=channel, note=note.midi, velocity=_VELOCITY))
        )
        timed.append((ticks(note.end), mido.Message("note_off", channel=channel, note=note.midi, velocity=0)))
    return timed
