"""How near the player's own note is, in words of their note: nothing of the recording comes in here."""

from collections.abc import Callable, Sequence
from math import floor, log2
from statistics import median

from coach.hearing.frames import F0Frame
from coach.music.tuning_system import A4_HZ

HEARD_S = 0.35
"""So much of the last moment is looked at: a held note, not the slide into it (our own choice)."""
LEAST_FRAMES = 8
STEADY_SEMITONES = 1.0
"""A pitch that moves farther than this within the moment is not held yet (our own choice)."""
CLEAN_CENTS, NEAR_CENTS = 15.0, 35.0
"""Clean: what a fretted guitar note may be off, too; near: still that note for every ear. Common practice,
no source."""


def held_midi(frames: Sequence[F0Frame], a4_hz: float = A4_HZ) -> float | None:
    """The pitch held in some frames as a MIDI number with cents after the point, ``None`` without one.

    MIDI 1.0 note number of a frequency: 69 + 12 log2(f / A4).
    """
    pitches = [69.0 + 12.0 * log2(f.f0_hz / a4_hz) for f in frames if f.f0_hz is not None and f.voiced]
    if len(pitches) < LEAST_FRAMES or max(pitches) - min(pitches) > STEADY_SEMITONES:
        return None
    return median(pitches)


def near_words(midi: float | None, name: Callable[[int], str]) -> str:
    """What a held pitch is, and which way the nearest note lies; empty without a pitch."""
    if midi is None:
        return ""
    nearest = floor(midi + 0.5)
    cents = 100.0 * (midi - nearest)
    if abs(cents) <= CLEAN_CENTS:
        return f"Your note is {name(nearest)}."
    way, side = ("higher", "below") if cents < 0 else ("lower", "above")
    if abs(cents) <= NEAR_CENTS:
        return f"Your note is just {side} {name(nearest)}: a little {way} makes {name(nearest)}."
    low = floor(midi)
    return f"Your note is between {name(low)} and {name(low + 1)}: a little {way} makes {name(nearest)}."
