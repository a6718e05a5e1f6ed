"""The trained model: scoring functions, calibration, bars, and what kind of recordings it knows."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Self, cast

import numpy as np

from coach.errors import UnreadableFileError
from coach.hearing.evidence.network import Network, unpacked
from coach.hearing.evidence.posterior import Bars
from coach.hearing.evidence.spectrum import Floats
from coach.notation.line import LineKind

FORMAT = 1
LINE_COLUMN = {LineKind.MELODY: 0, LineKind.BASS: 1}


@dataclass(frozen=True, slots=True, eq=False)
class LineModel:
    """What belongs to one line: softness of the softmax, bars for familiar and for strange recordings."""

    temperature: float
    bars: Bars
    careful: Bars
    low_midi: int
    high_midi: int

    def bars_for(self, reliability: float) -> Bars:
        """Bars between ``careful`` (reliability 0) and ``bars`` (1)."""
        share = min(1.0, max(0.0, reliability))
        mixed = {
            f.name: share * getattr(self.bars, f.name) + (1 - share) * getattr(self.careful, f.name)
            for f in fields(Bars)
        }
        return Bars(**mixed)


@dataclass(frozen=True, slots=True, eq=False)
class EvidenceModel:
    """A trained model; made by ``tests/bench/train_evidence.py``, kept in ``assets/evidence.json``.

    Parameters
    ----------
    networks
        Scoring functions whose scores are averaged.
    lines
        Calibration and bars, a line each.
    usual, spread
        Mean of the summaries of the recordings learned on, (8,), and the inverse root of their covariance,
        (8, 8).
    version
        Changes whenever the model does.
    """

    networks: tuple[Network, ...] = field(repr=False)
    lines: Mapping[LineKind, LineModel]
    usual: Floats = field(repr=False)
    spread: Floats = field(repr=False)
    near: float
    far: float
    version: str

    def reliability(self, summary: tuple[float, ...]) -> float:
        """How much a recording is like those learned on: 1 up to distance ``near``, 0 from ``far`` on.

        The distance is Mahalanobis's (1936), over the root of the number of dimensions.
        """
        away = (np.array(summary, dtype=np.float32) - self.usual) @ self.spread
        distance = float(np.sqrt(np.mean(away**2)))
        return 1.0 - min(1.0, max(0.0, (distance - self.near) / (self.far - self.near)))

    @classmethod
    def from_json(cls, kept: bytes) -> Self:
        """Read the model file.

        Raises
        ------
        UnreadableFileError
            If it is damaged or of another version of the program.
        """
        try:
            raw = json.loads(kept)
            return cls(
                networks=tuple(Network.from_json(network) for network in raw["networks"]),
                lines={line: _line(raw["lines"][line.value]) for line in LineKind},
                usual=unpacked(raw["familiar"]["usual"]),
                spread=unpacked(raw["familiar"]["spread"]),
                near=float(raw["familiar"]["near"]),
                far=float(raw["familiar"]["far"]),
                version=f"{_format(raw['format'])}-{raw['version']}",
            )
        except (KeyError, ValueError, TypeError, UnicodeDecodeError) as error:
            raise UnreadableFileError("The evidence model is damaged: install the program again.") from error


def _format(found: object) -> int:
    if found != FORMAT:
        raise ValueError("a model of another version")
    return FORMAT


def _line(raw: Mapping[str, object]) -> LineModel:
    temperature = cast("float", raw["temperature"])
    if not (math.isfinite(temperature) and temperature > 0):
        raise ValueError("a temperature is positive")
    low, high = cast("list[int]", raw["range"])
    bars, careful = (Bars(**cast("dict[str, float]", raw[name])) for name in ("bars", "careful"))
    return LineModel(float(temperature), bars, careful, int(low), int(high))
