"""What kind of recording it is, in a few numbers: to know when one is unlike those the model learned on."""

import numpy as np

from coach.hearing.evidence.spectrum import BINS_PER_SEMITONE, GRID_LOW_MIDI, Floats

SUMMARY_NAMES = ("tilt", "floor", "peaks", "busy", "fit", "spread", "band", "blur")
SUMMARY_FRAMES = 600
"""About so many frames, evenly spread, are looked at."""
_LOUD_DB = -30.0


def summary_of(levels: Floats, logs: Floats) -> tuple[float, ...]:
    """Eight numbers over the sounding frames, see ``SUMMARY_NAMES``.

    Parameters
    ----------
    levels
        dB against the reference, (3, frames, bins).
    logs
        Base-10 logarithms of activations, (frames, pitches).

    Returns
    -------
    tuple of float
        Tilt from low to high bins (dB), level between the partials (dB), roughness of the spectrum (dB),
        active pitches a frame, strength of all activations, spread of loudness (dB), share of bins in use,
        and how much the long window sees between the peaks of the short one (dB). Zeros for silence.
    """
    step = max(1, levels.shape[1] // SUMMARY_FRAMES)
    long, short, some = levels[0, ::step], levels[2, ::step], logs[::step]
    loudest = long.max(axis=1)
    sounding = loudest > _LOUD_DB
    if not sounding.any():
        return (0.0,) * len(SUMMARY_NAMES)
    long, short, some = long[sounding], short[sounding], some[sounding]
    middle, high = ((m - GRID_LOW_MIDI) * BINS_PER_SEMITONE for m in (60, 84))
    values = (
        long[:, :middle].mean() - long[:, high:].mean(),
        np.percentile(long, 10, axis=1).mean(),
        np.abs(np.diff(long, axis=1)).mean(),
        (some > -1.0).sum(axis=1).mean(),
        np.log10((10.0**some).sum(axis=1)).mean(),
        np.std(loudest[sounding]),
        (long > -55.0).mean(),
        (long.mean(axis=1) - short.mean(axis=1)).mean(),
    )
    return tuple(float(value) for value in values)
