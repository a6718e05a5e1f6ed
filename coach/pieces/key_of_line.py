"""The key that a written or heard line is most likely in.

Krumhansl's key-finding: the durations of the twelve pitch classes are correlated with the probe-tone profiles
of each of the 24 keys (C. L. Krumhansl, Cognitive Foundations of Musical Pitch, Oxford 1990, ch. 4; profiles
of Krumhansl and Kessler 1982). The last note, on which a tune most often rests, speaks for its own key.
"""

from collections.abc import Iterable, Sequence
from statistics import correlation

from coach.music import Key, Mode

PROFILES = {
    Mode.MAJOR: (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
    Mode.MINOR: (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
}
"""Krumhansl and Kessler 1982, mean ratings of the twelve probe tones after a major or minor context."""
RESTING_NOTE = 0.08
"""What the last note adds to the correlation of the key it is the tonic of (ours)."""


def key_of_line(notes: Iterable[tuple[int, float]]) -> Key:
    """The likeliest key of (MIDI note, length) pairs in order; C major for too few different notes."""
    heard = list(notes)
    weights = [0.0] * 12
    for midi, length in heard:
        weights[midi % 12] += length
    if len(set(weights)) < 2 or sum(weight > 0 for weight in weights) < 2:
        return Key.of_class(heard[-1][0]) if heard else Key("C", 0)
    last = heard[-1][0] % 12
    keys = [(tonic, mode) for mode in Mode for tonic in range(12)]
    tonic, mode = max(keys, key=lambda key: _fit(weights, *key) + RESTING_NOTE * (key[0] == last))
    return Key.of_class(tonic, mode)


def _fit(weights: Sequence[float], tonic: int, mode: Mode) -> float:
    return correlation([weights[(tonic + step) % 12] for step in range(12)], PROFILES[mode])
