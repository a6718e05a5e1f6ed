"""Pitch engines: what turns one short window of sound into a frequency and a confidence.

Only here are onnxruntime, the packaged model and aubio touched, and only when an engine is asked for.
"""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from typing_extensions import override

from coach.errors import MissingPartError
from coach.hearing.frames import FRAME_SAMPLES, RATE_HZ

LOWEST_HZ = 62.0
"""Below D2 = 73.4 Hz tuned down by a semitone at A4 = 415 Hz (65.4 Hz), with room for a slack string."""
HIGHEST_HZ = 1450.0
"""Above E6 = 1318.5 Hz at A4 = 466 Hz (1397 Hz)."""
SILENT_PEAK = 1e-4
"""Peak below which a frame is silence: -80 dB, under the noise of any microphone."""
_QUIET_PEAK = 0.2
"""Windows softer than this are raised to it: a distant microphone must hear as well as a near one."""
_MOST_GAIN = 60.0
_GATE_PEAK = 1e-3
"""Peak below which the network answers at random, by its documentation; applied after the gain."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """An engine's answer: frequency in Hz (0 for none) and confidence 0 to 1."""

    f0_hz: float
    confidence: float


class PitchEngine(Protocol):
    """What the tracker needs of an engine.

    A frame is 256 samples at 16 kHz. The window that an engine is given holds ``past_frames``, the frames
    asked about, and ``future_frames``; each answer belongs to the start of its frame.
    """

    name: str
    past_frames: int
    future_frames: int
    voiced_from: float

    def estimate(self, window: NDArray[np.float32]) -> tuple[Estimate, ...]:
        """Answers for the frames between the past and the future ones.

        ``window`` has shape ((past + asked + future) * 256,), float32.
        """
        ...


class NeuralEngine:
    """The packaged pitch network, read causally: seven frames of the past, two of the future.

    Two future frames lose nothing measurable against the network's own ten, and answer 128 ms sooner.

    Raises
    ------
    MissingPartError
        If onnxruntime or the model is not installed.
    """

    name = "neural"
    past_frames = 7
    future_frames = 2
    voiced_from = 0.3
    """The model's documentation says one half; measured on noisy guitar, 0.3 finds 2 % more true frames for
    1 % more false ones. The segmenter asks for more."""

    def __init__(self) -> None:
        model = _model_path()
        if model is None or find_spec("onnxruntime") is None:
            raise MissingPartError(
                "The neural pitch engine is not installed: install the packages onnxruntime and swift-f0, "
                "or choose the engine “yin”."
            )
        import onnxruntime  # noqa: PLC0415  (100 ms that only listening needs)

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        self._session: Any = onnxruntime.InferenceSession(
            str(model), options, providers=["CPUExecutionProvider"]
        )
        self._limits = {
            "fmin": np.asarray(LOWEST_HZ, np.float32),
            "fmax": np.asarray(HIGHEST_HZ, np.float32),
        }

    def estimate(self, window: NDArray[np.float32]) -> tuple[Estimate, ...]:
        """See `PitchEngine.estimate`: all frames asked about in one run, which costs little more than one."""
        asked = len(window) // FRAME_SAMPLES - self.past_frames - self.future_frames
        peaks = np.abs(window).reshape(-1, FRAME_SAMPLES).max(axis=1)
        gain = min(max(1.0, _QUIET_PEAK / max(float(peaks.max()), 1e-9)), _MOST_GAIN)
        own = peaks[self.past_frames : self.past_frames + asked].tolist()
        sounding = [peak >= SILENT_PEAK and gain * peak >= _GATE_PEAK for peak in own]
        if not any(sounding):
            return (Estimate(0.0, 0.0),) * asked
        pitch, confidence = self._session.run(
            ["pitch", "confidence"], {"audio": np.float32(gain) * window[np.newaxis, :], **self._limits}
        )
        answers = slice(self.past_frames, self.past_frames + asked)
        return tuple(
            Estimate(f0_hz, sure) if sounds else Estimate(0.0, 0.0)
            for f0_hz, sure, sounds in zip(
                pitch[0, answers].tolist(), confidence[0, answers].tolist(), sounding, strict=True
            )
        )


class YinEngine:
    """YIN by aubio (de Cheveigné and Kawahara 2002, in its fast form) over 64 ms: the light engine.

    Raises
    ------
    MissingPartError
        If aubio is not installed.
    """

    name = "yin"
    past_frames = 2
    future_frames = 1
    voiced_from = 0.67
    """Measured: below it the engine's answers on noise outnumber those on notes."""

    def __init__(self) -> None:
        if find_spec("aubio") is None:
            raise MissingPartError(
                "The light pitch engine is not installed: install the package aubio-ledfx."
            )
        import aubio  # noqa: PLC0415  (as onnxruntime)

        self._size = (self.past_frames + 1 + self.future_frames) * FRAME_SAMPLES
        self._pitch: Any = aubio.pitch("yinfast", self._size, self._size, RATE_HZ)
        self._pitch.set_unit("Hz")
        self._pitch.set_silence(-70)

    def estimate(self, window: NDArray[np.float32]) -> tuple[Estimate, ...]:
        """See `PitchEngine.estimate`."""
        asked = len(window) // FRAME_SAMPLES - self.past_frames - self.future_frames
        return tuple(
            self._one(np.ascontiguousarray(window[i * FRAME_SAMPLES :][: self._size])) for i in range(asked)
        )

    def _one(self, window: NDArray[np.float32]) -> Estimate:
        if float(np.abs(window).max()) < _GATE_PEAK:
            return Estimate(0.0, 0.0)
        f0_hz = float(self._pitch(window)[0])
        if not LOWEST_HZ <= f0_hz <= HIGHEST_HZ:
            return Estimate(0.0, 0.0)
        return Estimate(f0_hz, float(np.clip(self._pitch.get_confidence(), 0.0, 1.0)))


@dataclass(frozen=True, slots=True)
class EngineState:
    """Whether an engine can be used here, for ``coach doctor``: its name, yes or no, and a word on it."""

    name: str
    usable: bool
    detail: str

    @override
    def __str__(self) -> str:
        return f"{self.name}: {self.detail}"


def available_engines() -> tuple[EngineState, ...]:
    """Both engines, the better first, and what is missing where one cannot be used; loads nothing."""
    neural = find_spec("onnxruntime") is not None and _model_path() is not None
    yin = find_spec("aubio") is not None
    return (
        EngineState("neural", neural, "ready" if neural else "install onnxruntime and swift-f0"),
        EngineState("yin", yin, "ready" if yin else "install aubio-ledfx"),
    )


def engine_named(name: str) -> PitchEngine:
    """Make an engine; ``auto`` is the neural one, or yin where that is not installed.

    Raises
    ------
    MissingPartError
        If what it needs is not installed.
    """
    match name:
        case "neural":
            return NeuralEngine()
        case "yin":
            return YinEngine()
        case "auto":
            states = available_engines()
            return NeuralEngine() if states[0].usable else YinEngine()
        case _:
            raise ValueError(f"no such engine: {name!r}")


def _model_path() -> Path | None:
    """The model file inside the installed package, found without importing the package."""
    spec = find_spec("swift_f0")
    if spec is None or not spec.submodule_search_locations:
        return None
    path = Path(spec.submodule_search_locations[0]) / "model.onnx"
    return path if path.is_file() else None
