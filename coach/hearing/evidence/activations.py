"""How strongly each pitch takes part in a spectrum: non-negative least squares on harmonic templates."""

from functools import lru_cache

import numpy as np

from coach.hearing.evidence.spectrum import Floats, log_frequency
from coach.music.tuning_system import midi_to_hz

LOWEST_MIDI, HIGHEST_MIDI = 28, 100
PITCHES = HIGHEST_MIDI - LOWEST_MIDI + 1
"""E1 to E7: what a bass or a tune of a simple piece reaches."""
PARTIALS = 20
"""Of a template; the twentieth is 37 dB down."""
PARTIAL_DECAY = 0.8
"""Amplitude of each overtone against the one below it (Mauch & Dixon 2010 use .5 to .9)."""
STIFFNESS = 0.0002
"""Fletcher’s B of a low wound string, as in `coach.hearing.tuner.string_partials`."""
COMPRESSION = 0.7
"""Magnitudes are taken to this power before the fit, so that loud partials do not rule. Measured."""
ROUNDS = 50
"""Of the multiplicative updates."""
_TEMPLATE_RATE_HZ, _TEMPLATE_SIZE = 22050.0, 8192


@lru_cache(maxsize=1)
def templates() -> Floats:
    """Unit-length templates, (PITCHES, GRID_BINS): partials of a stiff string through the Hann main lobe."""
    hz_per_bin = _TEMPLATE_RATE_HZ / _TEMPLATE_SIZE
    bins = _TEMPLATE_SIZE // 2 + 1
    spectra = np.zeros((PITCHES, bins), np.float32)
    for row, midi in enumerate(range(LOWEST_MIDI, HIGHEST_MIDI + 1)):
        f0 = midi_to_hz(midi)
        for h in range(1, PARTIALS + 1):
            centre = f0 * h * np.sqrt(1 + STIFFNESS * h * h) / hz_per_bin
            if centre >= bins - 8:
                break
            near = np.arange(int(centre) - 3, int(centre) + 5)
            away = near - centre
            below = 1 - away**2
            lobe = np.abs(np.where(np.abs(below) < 1e-9, 0.5, np.sinc(away) / np.where(below == 0, 1, below)))
            spectra[row, near] = np.maximum(spectra[row, near], lobe * PARTIAL_DECAY ** (h - 1))
    shapes = log_frequency(spectra, hz_per_bin) ** COMPRESSION
    return np.asarray(shapes / np.linalg.norm(shapes, axis=1, keepdims=True), dtype=np.float32)


def activations(levels: Floats) -> Floats:
    """Pitch activations (frames, PITCHES), non-negative, of levels on the tuned grid (frames, GRID_BINS).

    Multiplicative updates for the Euclidean distance (Lee & Seung 2001) from a flat start; the templates
    stay fixed, so this is a non-negative least squares fit of every frame at once.
    """
    shapes = templates()
    target = levels**COMPRESSION
    wanted = target @ shapes.T
    gram = shapes @ shapes.T
    found = np.maximum(wanted, 0) / gram.sum(axis=1)
    for _ in range(ROUNDS):
        found = found * wanted / (found @ gram + 1e-9)
    return np.asarray(found, dtype=np.float32)
