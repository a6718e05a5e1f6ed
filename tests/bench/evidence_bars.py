"""Choose temperature, bars and the bounds of the familiar, on clips a model did not learn on."""

import random
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace

import numpy as np

from coach.hearing.evidence.activations import LOWEST_MIDI, PITCHES
from coach.hearing.evidence.analysis import RecordingAnalysis
from coach.hearing.evidence.judged import look_scores
from coach.hearing.evidence.network import Network, packed
from coach.hearing.evidence.posterior import Bars
from coach.notation.line import LineKind
from coach.pieces.hints import WHOLE_TONE
from tests.bench.evidence import Question, questions

RANGES = {LineKind.MELODY: (43, 100), LineKind.BASS: (28, 76)}
FALSE_GOAL = {LineKind.MELODY: 0.0015, LineKind.BASS: 0.0015}
"""Half to three quarters of the share of wrong notes that may be called heard."""
CAREFUL_GOAL = 0.0008
WRONG_NOT_HEARD_GOAL = 0.012
"""Most true notes that may be denied."""


SOFTEST = 1.0
"""Lines may look surer than their scores on these clips; on real recordings that would be rash."""
LEAST_HEARD, LEAST_CAREFUL, MOST_ABSENT, CAREFUL_ABSENT = 0.8, 0.9, 0.06, 0.045
LEAST_OCTAVE = 0.9
"""An octave is easily heard wrongly: a true note called "another octave" is a denied one."""

HINTS = {"direction": 0.95, "near": 0.97, "away": 0.04, "reveal": 0.93}
CAREFUL_HINTS = {"direction": 0.97, "near": 0.98, "away": 0.03, "reveal": 0.96}
RIGHT_HINTS = {"direction": 0.99, "near": 0.985, "reveal": 0.985}
"""Least shares of hints that are right; the bars of hints are raised until they are."""


@dataclass(frozen=True, slots=True)
class Sample:
    kind: str
    question: Question
    scores: np.ndarray


def samples(
    clips: Sequence[tuple[str, RecordingAnalysis, list]], networks: Sequence[Network], seed: int
) -> list[Sample]:
    rng = random.Random(seed)
    found = []
    for kind, analysis, notes in clips:
        narrow, wide = (questions(notes, analysis.duration_s, jitter, rng, kind) for jitter in (0.06, 0.12))
        for number, pair in enumerate(zip(narrow, wide, strict=True)):
            question = pair[number % 2]
            scores = look_scores(analysis, networks, question.line, question.span)
            found.append(Sample(kind, question, scores))
    return found


def posteriors(scores: np.ndarray, temperature: float, line: LineKind) -> np.ndarray:
    values = scores.astype(np.float64) / temperature
    midi = LOWEST_MIDI + np.arange(PITCHES)
    values[:, (midi < RANGES[line][0]) | (midi > RANGES[line][1])] = -np.inf
    shares = np.exp(values - values.max(axis=1, keepdims=True))
    return shares / shares.sum(axis=1, keepdims=True)


def temperature_of(scores: np.ndarray, target: np.ndarray, line: LineKind) -> float:
    """The softness under which what came true was likeliest (Guo et al. 2017)."""

    def loss(value: float) -> float:
        return -float(np.log(posteriors(scores, value, line)[np.arange(len(target)), target] + 1e-12).mean())

    return float(min(np.arange(SOFTEST, 3.01, 0.05), key=loss))


def at(table: np.ndarray, midi: np.ndarray) -> np.ndarray:
    place = midi - LOWEST_MIDI
    inside = (place >= 0) & (place < PITCHES)
    return np.where(inside, table[np.arange(len(table)), np.clip(place, 0, PITCHES - 1)], 0.0)


def bars_of(
    table: np.ndarray, found: list[Sample], goal: float, least: float = LEAST_HEARD, most: float = MOST_ABSENT
) -> Bars:
    """The lowest bars that keep the goals over all kinds together, and three times the goal in each kind."""
    rows = [(k, kind, midi) for k, s in enumerate(found) for kind, midi in s.question.asked.items()]
    index, asked = np.array([r[0] for r in rows]), np.array([r[2] for r in rows])
    true = np.array([r[1] == "true" for r in rows])
    same = at(table[index], asked)
    octaves = sum(at(table[index], asked + 12 * k) for k in range(-5, 6) if k)
    ensembles = np.array([s.kind for s in found])[index]
    heard = 0.98
    for bar in np.arange(least, 0.985, 0.01):
        wrong = ~true & (same >= bar)
        each = [wrong[ensembles == e].sum() / max(1, (~true[ensembles == e]).sum()) for e in set(ensembles)]
        if wrong.sum() / (~true).sum() <= goal and max(each) <= 3 * goal:
            heard = float(bar)
            break
    octave = max(heard, LEAST_OCTAVE)
    absent = most
    for bar in np.arange(most, 0.019, -0.005):
        absent = float(bar)
        denied = true & (same < heard) & ((same + octaves <= bar) | (octaves >= octave))
        if denied.sum() / true.sum() <= WRONG_NOT_HEARD_GOAL:
            break
    return Bars(heard=round(heard, 3), octave=round(octave, 3), absent=round(absent, 3))


def hint_bars(table: np.ndarray, found: list[Sample], least: dict[str, float]) -> dict[str, float]:
    """The lowest bars, from ``least`` on, with which given hints are right often enough."""
    rows = [
        (k, midi) for k, s in enumerate(found) for kind, midi in s.question.asked.items() if kind != "true"
    ]
    index, asked = np.array([r[0] for r in rows]), np.array([r[1] for r in rows])
    truth = np.array([s.question.midi for s in found])[index]
    midi = LOWEST_MIDI + np.arange(PITCHES)
    shares = table[index]
    higher = (shares * (midi > asked[:, None])).sum(axis=1)
    lower = (shares * (midi < asked[:, None])).sum(axis=1)
    within = (shares * (np.abs(midi - asked[:, None]) <= WHOLE_TONE)).sum(axis=1)
    side_right = (higher > lower) == (truth > asked)
    near = np.abs(truth - asked) <= WHOLE_TONE
    best_right = midi[table.argmax(axis=1)] == truth_of(found)
    sure = {
        "direction": (np.maximum(higher, lower), side_right),
        "near": (np.maximum(within, 1 - within), (within > 0.5) == near),
        "reveal": (table.max(axis=1), best_right),
    }
    bars = {}
    for name, (surest, right) in sure.items():
        steps = np.arange(least[name], 0.985, 0.01)
        given = [(bar, right[surest >= bar]) for bar in steps]
        kept = [bar for bar, told in given if len(told) and told.mean() >= RIGHT_HINTS[name]]
        bars[name] = round(float(kept[0] if kept else steps[-1]), 3)
    bars["away"] = round(min(least["away"], 1 - bars["near"]), 3)
    return bars


def truth_of(found: list[Sample]) -> np.ndarray:
    return np.array([s.question.midi for s in found])


def calibrated(
    networks: Sequence[Network], choose: Sequence, learn_summaries: np.ndarray, choose_summaries: np.ndarray
) -> dict:
    """The ``lines`` and ``familiar`` parts of the model file."""
    return {
        "lines": line_parts(samples(choose, networks, 5)),
        "familiar": familiar(learn_summaries, choose_summaries),
    }


def line_parts(found: Sequence[Sample]) -> dict:
    """Temperature, range and bars, a line each."""
    lines = {}
    for line in LineKind:
        of_line = [s for s in found if s.question.line is line]
        scores = np.stack([s.scores for s in of_line])
        target = np.array([s.question.midi - LOWEST_MIDI for s in of_line])
        warmth = temperature_of(scores, np.clip(target, 0, PITCHES - 1), line)
        table = posteriors(scores, warmth, line)
        bars = bars_of(table, of_line, FALSE_GOAL[line])
        bars = replace(bars, **hint_bars(table, of_line, HINTS))
        careful = bars_of(table, of_line, CAREFUL_GOAL, LEAST_CAREFUL, CAREFUL_ABSENT)
        careful = replace(careful, **hint_bars(table, of_line, CAREFUL_HINTS))
        lines[line.value] = {
            "temperature": round(warmth, 3),
            "range": list(RANGES[line]),
            "bars": asdict(bars),
            "careful": asdict(careful),
        }
        print(line, lines[line.value], flush=True)
    return lines


def familiar(learn_summaries: np.ndarray, choose_summaries: np.ndarray) -> dict:
    """What recordings like those learned on look like, and how far others may be away."""
    usual = learn_summaries.mean(axis=0)
    spread = np.linalg.inv(np.linalg.cholesky(np.cov(learn_summaries.T) + 1e-4 * np.eye(len(usual)))).T
    away = np.sqrt(np.mean(((choose_summaries - usual) @ spread) ** 2, axis=1))
    near = float(np.quantile(away, 0.9))
    print("distance of the choosing clips", np.quantile(away, (0.1, 0.5, 0.9, 0.97)), flush=True)
    return {
        "usual": packed(usual),
        "spread": packed(spread),
        "near": round(near, 3),
        "far": round(2.0 * near, 3),
    }
