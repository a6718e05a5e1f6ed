"""The scoring function: small layers shared by all pitches, evaluated in plain numpy."""

import base64
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Self

import numpy as np
import numpy.typing as npt

from coach.errors import UnreadableFileError
from coach.hearing.evidence.features import CORE_SLOTS, SLOTS
from coach.hearing.evidence.spectrum import Floats

FRAME_TAPS = (-24, -19, -12, -7, -4, -2, -1, 0, 1, 2, 4, 7, 12, 19, 24)
"""Where a pitch looks at others within a frame, in semitones: neighbours, thirds, fifths, octaves."""
SPAN_TAPS = (
    -31,
    -28,
    -24,
    -19,
    -16,
    -12,
    -7,
    -5,
    -4,
    -3,
    -2,
    -1,
    0,
    1,
    2,
    3,
    4,
    5,
    7,
    12,
    16,
    19,
    24,
    28,
    31,
)
"""The same, over the whole span."""
LAYERS = ("frame", "mix", "pool", "look", "gate", "join", "lines")


def tapped(values: Floats, taps: tuple[int, ...]) -> Floats:
    """For each pitch the values of the pitches ``taps`` away, side by side: (n, pitches, taps · channels)."""
    reach = max(abs(t) for t in taps)
    padded = np.pad(values, ((0, 0), (reach, reach), (0, 0)))
    count = values.shape[1]
    return np.concatenate([padded[:, reach + t : reach + t + count] for t in taps], axis=2)


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """One trained scoring function.

    ``weights`` and ``biases`` hold, by the names of ``LAYERS``: frame (inputs → channels), mix (taps of
    channels → channels), pool (slots → span channels), look (taps of span channels), gate (what counts as
    "something sounds above or below"), join, and lines (two scores: melody, bass).
    """

    weights: Mapping[str, Floats] = field(repr=False)
    biases: Mapping[str, Floats] = field(repr=False)

    def scores(self, frames: Floats, lengths_s: npt.NDArray[np.float64]) -> Floats:
        """Scores (spans, pitches, 2) of spans given the inputs of their slots.

        Parameters
        ----------
        frames
            Shape (spans · SLOTS, pitches, INPUTS).
        lengths_s
            Shape (spans,).
        """
        channels = self._layer("mix", tapped(self._layer("frame", frames), FRAME_TAPS))
        pooled = self._layer("pool", pool(channels, lengths_s))
        look = self._layer("look", tapped(pooled, SPAN_TAPS))
        joined = self._layer("join", np.concatenate((pooled, look, self._context(pooled)), axis=2))
        return np.asarray(joined @ self.weights["lines"] + self.biases["lines"], dtype=np.float32)

    def _layer(self, name: str, values: Floats) -> Floats:
        return np.asarray(np.maximum(values @ self.weights[name] + self.biases[name], 0), dtype=np.float32)

    def _context(self, pooled: Floats) -> Floats:
        """How much sounds above and below each pitch, saturating."""
        gate = self._layer("gate", pooled)
        gate = gate / (1 + gate)
        below = np.cumsum(gate, axis=1) - gate
        above = np.sum(gate, axis=1, keepdims=True) - below - gate
        return np.asarray(np.log1p(np.concatenate((above, below), axis=2)), dtype=np.float32)

    @classmethod
    def from_json(cls, kept: Mapping[str, Mapping[str, object]]) -> Self:
        """From base64 of little-endian half floats with their shapes.

        Raises
        ------
        UnreadableFileError
            If a layer is missing or broken.
        """
        try:
            weights = {name: unpacked(kept[name]["weights"]) for name in LAYERS}
            biases = {name: unpacked(kept[name]["biases"]) for name in LAYERS}
        except (KeyError, ValueError, TypeError) as error:
            raise UnreadableFileError("The evidence model is damaged: install the program again.") from error
        return cls(weights, biases)


def pool(channels: Floats, lengths_s: npt.NDArray[np.float64]) -> Floats:
    """Join the slots of each span: its inside by mean and maximum, its edges one by one, its length."""
    count = len(lengths_s)
    slot = channels.reshape(count, SLOTS, *channels.shape[1:])
    inside = slot[:, 2 : 2 + CORE_SLOTS]
    length = np.log10(np.clip(lengths_s, 0.05, 8.0)).astype(np.float32)
    place = np.broadcast_to(length[:, None, None], (count, channels.shape[1], 1))
    parts = (
        inside.mean(axis=1), inside.max(axis=1), slot[:, 0], slot[:, 1], slot[:, 2], slot[:, 3],
        slot[:, 1 + CORE_SLOTS], slot[:, 2 + CORE_SLOTS], slot[:, 3 + CORE_SLOTS], place,
    )  # fmt: skip
    return np.concatenate(parts, axis=2)


def unpacked(kept: object) -> Floats:
    """An array from ``{"shape", "half"}``."""
    if not isinstance(kept, Mapping):
        raise TypeError("an array is kept as a mapping")
    raw = np.frombuffer(base64.b64decode(kept["half"], validate=True), "<f2")
    return np.asarray(raw.reshape(kept["shape"]), dtype=np.float32)


def packed(values: Floats) -> dict[str, object]:
    """The counterpart of `unpacked`."""
    half = np.asarray(values, dtype="<f2")
    return {"shape": list(half.shape), "half": base64.b64encode(half.tobytes()).decode("ascii")}
