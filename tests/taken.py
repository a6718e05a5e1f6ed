"""Takes of two lines with planted errors, plucked by computation or on recorded guitar strings."""

from dataclasses import dataclass, field
from fractions import Fraction
from random import Random

import numpy as np
from numpy.typing import NDArray

from coach.music import Key, Meter, Pitch
from coach.notation import Arrangement, Line, LineKind, Note
from coach.tones.learner import Manner, plucked
from coach.tones.prompt import PromptNote
from tests.soundfont import STEEL, recorded

RATE_HZ = 44_100
STEADY_S = 0.015
"""Standard deviation of an amateur's onsets. Common practice, no source."""
MAJOR = (0, 2, 4, 5, 7, 9, 11)
Spot = tuple[LineKind, int]
Semitones, Seconds = int, float
Slips = dict[Spot, Semitones | Seconds | None]
"""What is played otherwise: a whole number of semitones off, seconds off, or ``None``: not at all."""


@dataclass(frozen=True)
class Performed:
    """A take, and what was done in it."""

    arrangement: Arrangement
    samples: NDArray[np.float32]
    tempo_bpm: float
    lead_s: float
    slips: Slips = field(default_factory=dict)


def invented(rng: Random, bars: int) -> Arrangement:
    """A piece of two lines in a major key: quarters, eighths, halves over one or two bass notes a bar."""
    tonic = rng.choice((0, 2, 5, 7, 9))
    scale = [midi for midi in range(55, 80) if (midi - tonic) % 12 in MAJOR]
    low = [midi for midi in range(40, 53) if (midi - tonic) % 12 in MAJOR]
    tune, step, at = [], len(scale) // 2, Fraction(0)
    while at < 4 * bars:
        half = Fraction(1, 2)
        duration = half if at % 1 else rng.choice((half, Fraction(1), Fraction(1), Fraction(2)))
        step = max(3, min(len(scale) - 1, step + rng.choice((-3, -2, -1, -1, 1, 1, 2, 3))))
        tune.append(written(at, min(duration, 4 * bars - at), scale[step]))
        at += duration
    bass = []
    for bar in range(bars):
        length = rng.choice((4, 2))
        bass += [
            written(Fraction(4 * bar + on), Fraction(length), rng.choice(low)) for on in range(0, 4, length)
        ]
    melody, under = Line.of(LineKind.MELODY, tune), Line.of(LineKind.BASS, bass)
    return Arrangement("Invented", Meter(4, 4), Key("C", 0), 70, melody, under)


def written(onset: Fraction, duration: Fraction, midi: int) -> Note:
    return Note(onset, duration, Pitch.from_midi(midi))


def planted(arrangement: Arrangement, rng: Random, tempo_bpm: float) -> Slips:
    """Two wrong notes, one missing, one late and one early, apart from the very first of each line."""
    spots = [(line.kind, index) for line in arrangement.lines for index in range(1, len(line))]
    wrong, again, gone, late, early = rng.sample(spots, 5)
    far_s = min(0.25, 0.4 * 60 / tempo_bpm)
    return {
        wrong: rng.choice((-2, -1, 1, 2)),
        again: rng.choice((-5, -3, 3, 5)),
        gone: None,
        late: rng.uniform(0.12, far_s),
        early: -rng.uniform(0.12, far_s),
    }


def performed(
    arrangement: Arrangement,
    tempo_bpm: float,
    rng: Random,
    *,
    slips: Slips | None = None,
    lead_s: float = 1.3,
    real: bool = False,
    rate_hz: int = RATE_HZ,
) -> Performed:
    """Play it: the bass rings a third of a second into what follows."""
    done = slips or {}
    notes = []
    for line in arrangement.lines:
        for index, note in enumerate(line):
            slip = done.get((line.kind, index), 0)
            if slip is None:
                continue
            human_s = max(-0.04, min(0.04, rng.gauss(0.0, STEADY_S)))
            off_s = slip if isinstance(slip, float) else 0.0
            start_s = lead_s + float(note.onset) * 60 / tempo_bpm + human_s + off_s
            ring_s = 0.3 if line.kind is LineKind.BASS else 0.0
            end_s = start_s + 0.97 * float(note.duration) * 60 / tempo_bpm + ring_s
            notes.append((note.midi + (slip if isinstance(slip, int) else 0), start_s, end_s))
    notes.sort(key=lambda each: each[1])
    if real:
        samples = recorded(notes, rate_hz, program=STEEL)
    else:
        prompts = [PromptNote(*each) for each in notes]
        samples = plucked(prompts, rate_hz, rng, manner=Manner(timing_s=0.0))
    return Performed(arrangement, samples, tempo_bpm, lead_s, done)
