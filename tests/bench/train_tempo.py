"""Fit the weights of the tempo: ``python -m tests.bench.train_tempo WEIGHTS.py CLIPS...``.

CLIPS are folders as ``recording`` reads them (``render_beats`` renders some). A conditional logit (McFadden
1974) over all tempos that are tried: the weights make those within 2.5 % of the true tempo likeliest; large
weights cost. Each clip is learned on whole and cut short; the less usual its
tempo, the less it counts. Also tells how
often the fit is right on fifths of the clips that were left out.
"""

import json
import sys
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.optimize import minimize

from coach.hearing.beats_strength import OnsetStrength, onset_strength
from coach.hearing.beats_tempo import CURVES, MULTIPLES, preference, tempo_evidence, tried_tempos

AUDIO = {".wav", ".flac", ".ogg", ".mp3"}
TRUE_WITHIN = 0.025
RIGHT_WITHIN = 0.05
COST = 3.0
PARTS = 5
CUT_S = (9.0, 24.0)
"""So long is the part of a clip that is learned on as well."""
HEAD = '''"""The weights of the tempo, learned on rendered clips; see ``tests/bench/train_tempo.py``."""

WEIGHTS = (
'''
Evidence = NDArray[np.float32]


def read(folders: list[Path]) -> tuple[Evidence, NDArray[np.float64]]:
    """Evidence (clips, tempos, columns), of each clip whole and cut short in turn, and true tempos."""
    evidence, truth = [], []
    rng = np.random.default_rng(5)
    for path in sorted(path for folder in folders for path in folder.glob("*.json")):
        told = json.loads(path.read_text(encoding="utf-8"))
        audio = next(p for p in path.parent.glob(f"{path.stem}.*") if p.suffix in AUDIO)
        stereo, rate_hz = soundfile.read(audio, always_2d=True, dtype="float32")
        strength = onset_strength(np.ascontiguousarray(stereo.mean(axis=1)), rate_hz)
        for heard in (strength, cut(strength, rng)):
            evidence.append(tempo_evidence(heard).astype(np.float32))
            truth.append(told["tempo"])
    return np.array(evidence), np.array(truth)


def cut(strength: OnsetStrength, rng: np.random.Generator) -> OnsetStrength:
    """A part of a recording, as if it were all; the whole where it is no longer than that."""
    count = len(strength.values)
    kept = min(count, int(rng.uniform(*CUT_S) * strength.rate_hz))
    first = int(rng.integers(0, count - kept + 1))
    part = slice(first, first + kept)
    values, low = strength.values[part], strength.low[part]
    return OnsetStrength(
        values / (values.std() + 1e-9),
        low / (low.std() + 1e-9),
        strength.levels_db[part],
        strength.chroma[part],
        strength.rate_hz,
    )


def fit(evidence: Evidence, truth: NDArray[np.float64]) -> NDArray[np.float64]:
    """The weights of the columns."""
    spread = evidence.reshape(-1, evidence.shape[2]).std(axis=0) + 1e-9
    scaled = evidence / spread
    wanted = np.abs(np.log(tried_tempos() / truth[:, None])) < TRUE_WITHIN
    counts = preference(truth)

    def loss(weights: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        scores = scaled @ weights
        odds = np.exp(scores - scores.max(axis=1, keepdims=True))
        every, right = odds.sum(axis=1), np.maximum((odds * wanted).sum(axis=1), 1e-300)
        pull = (odds / every[:, None] - odds * wanted / right[:, None]) * counts[:, None]
        slope = np.tensordot(pull, scaled, ([0, 1], [0, 1])) + 2 * COST * weights
        return float((counts * np.log(every / right)).sum() + COST * weights @ weights), slope

    found = minimize(loss, np.zeros(evidence.shape[2]), jac=True, method="L-BFGS-B", options={"maxiter": 250})
    return np.asarray(found.x / spread)


def right(evidence: Evidence, truth: NDArray[np.float64], weights: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Shape (2, clips): right, and right or half or double."""
    ratio = tried_tempos()[np.argmax(evidence @ weights, axis=1)] / truth
    levels = np.abs(ratio / np.array([[1.0], [0.5], [2.0]]) - 1) < RIGHT_WITHIN
    return np.stack([levels[0], levels.any(axis=0)])


def main(out: Path, folders: list[Path]) -> None:
    evidence, truth = read(folders)
    part = np.repeat(np.random.default_rng(0).integers(0, PARTS, len(truth) // 2), 2)
    left_out = np.zeros((2, len(truth)))
    for number in range(PARTS):
        own = part == number
        left_out[:, own] = right(evidence[own], truth[own], fit(evidence[~own], truth[~own]))
    for name, start in (("whole", 0), ("cut short", 1)):
        shares = left_out[:, start::2].mean(axis=1)
        print(f"{len(truth) // 2} clips {name}, left out: tempo {shares[0]:.3f}, x2 x1/2 {shares[1]:.3f}")
    weights = fit(evidence, truth)
    out.write_text(written(weights), encoding="utf-8")


def written(weights: NDArray[np.float64]) -> str:
    """The module that holds them."""
    count = len(MULTIPLES)
    groups = [weights[k * count : (k + 1) * count] for k in range(len(CURVES) + 1)]
    names = [f"{curve}, at each multiple" for curve in CURVES]
    names.append("octaves from moderate, squared; squared octaves from one note a beat")
    rows = (
        f"    # {name}\n    {', '.join(f'{weight:.2f}' for weight in group)},\n"
        for name, group in zip(names, groups, strict=True)
    )
    return HEAD + "".join(rows) + ")  # fmt: skip\n"


if __name__ == "__main__":
    main(Path(sys.argv[1]), [Path(word) for word in sys.argv[2:]])
