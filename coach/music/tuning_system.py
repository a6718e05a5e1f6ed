"""Equal temperament, between frequencies in Hz and MIDI note numbers; and the usual tuning of a guitar.

``f = a4 · 2^((m − 69) / 12)``: twelve-tone equal temperament with MIDI note 69 = A4 (MIDI 1.0, note
numbers) and A4 = 440 Hz unless told otherwise (ISO 16).
"""

import math

OCTAVE = 12
"""Semitones."""
A4_MIDI = 69
A4_HZ = 440.0
"""ISO 16:1975, standard tuning frequency."""
A4_RANGE_HZ = (415.0, 466.0)
"""From baroque to high choir pitch. Common practice, no source."""
STANDARD_STRINGS = (40, 45, 50, 55, 59, 64)
"""MIDI notes of a guitar's open strings 6 to 1: E2 A2 D3 G3 B3 E4. Common practice."""


def midi_to_hz(midi: float, a4_hz: float = A4_HZ) -> float:
    """Frequency in Hz of a (possibly fractional) MIDI note number."""
    return float(a4_hz * 2.0 ** ((midi - A4_MIDI) / 12.0))


def hz_to_midi(hz: float, a4_hz: float = A4_HZ) -> float:
    """Fractional MIDI note number of a frequency; ``ValueError`` unless ``hz > 0``."""
    if hz <= 0.0:
        raise ValueError(f"a frequency must be positive, got {hz}")
    return A4_MIDI + 12.0 * math.log2(hz / a4_hz)


def cents_between(from_hz: float, to_hz: float) -> float:
    """Signed size in cents of the step from one frequency to another; 1200 is an octave up."""
    if from_hz <= 0.0 or to_hz <= 0.0:
        raise ValueError("frequencies must be positive")
    return 1200.0 * math.log2(to_hz / from_hz)
