"""Onsets of plucks, claps and taps at known times."""

import numpy as np
import pytest
from mir_eval.onset import f_measure

from coach.hearing.onsets import OnsetDetector
from tests import synth

WINDOW_S = 0.05
"""MIREX audio onset detection: right within 50 ms."""
KNOWN_S = 0.07
"""An onset is told so soon after it happens (64 ms of window and lag, a hop to see the peak pass)."""
RATE_HZ = 16_000


def found(samples: np.ndarray) -> list[tuple[float, float]]:
    detector = OnsetDetector()
    told = []
    for first in range(0, len(samples), 160):
        told += [(time_s, (first + 160) / RATE_HZ) for time_s in detector.push(samples[first : first + 160])]
    return told


@pytest.mark.parametrize("kind", ["pluck", "clap", "tap"])
def test_a_rhythm_is_heard_stroke_for_stroke(kind: str) -> None:
    times = [0.5, 0.9, 1.1, 1.3, 1.7, 1.85, 2.3]
    sound = {
        "pluck": synth.pluck(146.8, 0.5, rate_hz=RATE_HZ),
        "clap": synth.clap(rate_hz=RATE_HZ),
        "tap": synth.tap(rate_hz=RATE_HZ),
    }[kind]
    noise = synth.pink_noise(3.0, rate_hz=RATE_HZ, rms=0.002)
    told = found(synth.place([(t, sound) for t in times], 3.0, rate_hz=RATE_HZ) + noise)
    heard = [time_s for time_s, _ in told]
    assert f_measure(np.array(times), np.array(heard), window=WINDOW_S)[0] == 1.0
    assert max(abs(a - b) for a, b in zip(times, heard, strict=True)) < WINDOW_S / 2
    assert all(at_s - time_s < KNOWN_S for time_s, at_s in told)


def test_vibrato_and_noise_are_no_onsets() -> None:
    tone = synth.voice(220.0, 2.0, rate_hz=RATE_HZ, vibrato_cents=60.0)
    told = found(synth.place([(0.5, tone)], 3.0, rate_hz=RATE_HZ))
    assert [t for t, _ in told if 0.7 < t < 2.3] == []
    assert found(synth.pink_noise(10.0, rate_hz=RATE_HZ, rms=0.02)) == []


def test_blocks_do_not_matter() -> None:
    sound = synth.place([(t, synth.clap(rate_hz=RATE_HZ)) for t in (0.3, 0.7)], 1.2, rate_hz=RATE_HZ)
    assert OnsetDetector().push(sound) == tuple(time_s for time_s, _ in found(sound))
