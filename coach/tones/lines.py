"""The app as the other player: a line, or both lines of an arrangement, at any tempo."""

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from coach.music.tuning_system import A4_HZ
from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.tones.instruments import Audio
from coach.tones.loudness import under_peak
from coach.tones.patterns import count_in
from coach.tones.prompt import PromptNote, Timbre
from coach.tones.rendering import click, render_unlimited

_RING_S = 0.03
"""A note is let go this much before its written end, so that repeated notes are heard as two."""
TIMBRE_OF_LINE = {LineKind.MELODY: Timbre.PLUCK, LineKind.BASS: Timbre.DEEP}
PAN_OF_LINE = {LineKind.MELODY: 0.45, LineKind.BASS: -0.45}
"""Melody a little to the right, bass to the left. Common practice, no source."""


def line_notes(
    line: Line, tempo_bpm: float, *, start: Fraction = Fraction(0), end: Fraction | None = None
) -> tuple[PromptNote, ...]:
    """The notes of a line between two musical times (quarters), in seconds from ``start``.

    Parameters
    ----------
    line
        A melody or a bass line.
    tempo_bpm
        Quarter notes a minute, above zero.
    start, end
        Notes whose onset lies in [start, end) sound; ``None`` is the end of the line.
    """
    if tempo_bpm <= 0.0:
        raise ValueError("a tempo must be positive")
    quarter_s = 60.0 / tempo_bpm
    last = line.end if end is None else end
    notes = []
    for note in line.between(start, max(last, start)):
        from_s = float(note.onset - start) * quarter_s
        length_s = float(min(note.end, last) - note.onset) * quarter_s
        notes.append(PromptNote(note.midi, from_s, from_s + max(0.02, length_s - line_gap_s(length_s))))
    return tuple(notes)


def line_gap_s(length_s: float) -> float:
    """How much before its written end a note of this length is let go."""
    return min(_RING_S, length_s / 4)


def line_sound(
    line: Line,
    tempo_bpm: float,
    rate_hz: int,
    *,
    start: Fraction = Fraction(0),
    end: Fraction | None = None,
    a4_hz: float = A4_HZ,
) -> Audio:
    """One line as mono samples, shape (n,), peak at most -6 dBFS; see `line_notes`.

    The result lasts exactly from ``start`` to ``end``, so that it can be looped.
    """
    last = line.end if end is None else end
    length_s = max(0.0, float(last - start)) * 60.0 / tempo_bpm
    notes = line_notes(line, tempo_bpm, start=start, end=end)
    return under_peak(
        render_unlimited(notes, TIMBRE_OF_LINE[line.kind], rate_hz, a4_hz=a4_hz, length_s=length_s)
    )


def arrangement_sound(
    arrangement: Arrangement,
    rate_hz: int,
    *,
    tempo_bpm: float | None = None,
    start: Fraction = Fraction(0),
    end: Fraction | None = None,
    lines: Sequence[LineKind] = (LineKind.MELODY, LineKind.BASS),
    counted: bool = False,
    clicking: bool = False,
    a4_hz: float = A4_HZ,
) -> Audio:
    """Both lines (or one of them) in stereo, melody and bass panned apart.

    Parameters
    ----------
    arrangement
        What is played.
    tempo_bpm
        Quarter notes a minute; ``None`` is the arrangement's own.
    start, end
        Musical times in quarters; ``None`` is the end of the last bar.
    lines
        Which of the two sound: the app plays the *other* line while the player plays one.
    counted
        Whether one bar is counted in before ``start``.
    clicking
        Whether the metronome goes on.

    Returns
    -------
    Audio
        Shape (n, 2), peak at most -6 dBFS.
    """
    tempo = arrangement.tempo_bpm if tempo_bpm is None else tempo_bpm
    last = arrangement.end if end is None else end
    beat_s = float(arrangement.meter.beat) * 60.0 / tempo
    lead_s = arrangement.meter.beats * beat_s if counted else 0.0
    length_s = lead_s + max(0.0, float(last - start)) * 60.0 / tempo
    out = np.zeros((max(1, round(length_s * rate_hz)), 2), np.float32)
    first = round(lead_s * rate_hz)
    for kind in lines:
        mono = line_sound(arrangement.line(kind), tempo, rate_hz, start=start, end=last, a4_hz=a4_hz)
        stop = min(len(out), first + len(mono))
        out[first:stop] += panned(mono[: stop - first], PAN_OF_LINE[kind])
    if counted:
        for one in count_in(arrangement.meter.beats, 60.0 / beat_s):
            _lay(out, one.at_s, rate_hz, accent=one.accent)
    if clicking:
        _click_along(out, arrangement, start, last, tempo, lead_s, rate_hz)
    return under_peak(out)


def panned(mono: Audio, pan: float) -> Audio:
    """Mono samples, shape (n,), placed between left (-1) and right (1) at constant power; shape (n, 2)."""
    angle = (pan + 1.0) * math.pi / 4.0
    gains = np.array([math.cos(angle), math.sin(angle)], np.float32)
    return np.asarray(mono[:, np.newaxis] * gains, np.float32)


def _click_along(
    out: Audio,
    arrangement: Arrangement,
    start: Fraction,
    last: Fraction,
    tempo: float,
    lead_s: float,
    rate_hz: int,
) -> None:
    beat, pickup = arrangement.meter.beat, arrangement.pickup
    number = -((pickup - start) // beat) if start > pickup else -(pickup // beat)
    while pickup + number * beat < last:
        at = pickup + number * beat
        if at >= start:
            accent = number % arrangement.meter.beats == 0
            _lay(out, lead_s + float(at - start) * 60.0 / tempo, rate_hz, accent=accent)
        number += 1


def _lay(out: Audio, at_s: float, rate_hz: int, *, accent: bool) -> None:
    samples = click(rate_hz, accent=accent)
    first = round(at_s * rate_hz)
    stop = min(len(out), first + len(samples))
    if stop > first:
        out[first:stop] += samples[: stop - first, np.newaxis]
