"""Beats, tempo and tuning of recordings, against peers in one run: ``python -m tests.bench.recording DATA``.

DATA is a folder of recordings, each with a JSON of the same name beside it that holds ``beats`` (seconds),
``tempo`` (beats a minute), ``cents`` (tuning offset) and ``cat`` (kind of ensemble). Peers: aubio.tempo
(aubio's default) and librosa.beat.beat_track (librosa's default). Scores by mir_eval.beat (first five
seconds left out, window 70 ms); tempo within 5 %, exactly and allowing half and double.

Bars that were set before: F >= .80 and >= librosa + .04, tempo >= .82, with half and double >= .95; tuning
offset: mean error <= 1.5 cents, worst <= 5.
"""

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path

import aubio
import librosa
import mir_eval
import numpy as np
import soundfile
from numpy.typing import NDArray

from coach.hearing.beats import find_beats
from coach.hearing.tuning_offset import tuning_offset

Samples = NDArray[np.float32]
Tracker = Callable[[Samples, int], tuple[float, NDArray[np.float64]]]
PEER_RATE_HZ = 22_050
AUDIO = {".wav", ".flac", ".ogg", ".mp3"}
TEMPO_WITHIN = 0.05
TEMPOS = ((66.0, "under 66"), (90.0, "66 to 90"), (126.0, "90 to 126"), (float("inf"), "over 126"))


def ours(samples: Samples, rate_hz: int) -> tuple[float, NDArray[np.float64]]:
    found = find_beats(samples, rate_hz)
    return found.tempo_bpm, np.array(found.beats_s)


def by_librosa(samples: Samples, rate_hz: int) -> tuple[float, NDArray[np.float64]]:
    y = librosa.resample(samples, orig_sr=rate_hz, target_sr=PEER_RATE_HZ)
    tempo, beats = librosa.beat.beat_track(y=y, sr=PEER_RATE_HZ, units="time")
    return float(np.atleast_1d(tempo)[0]), beats


def by_aubio(samples: Samples, rate_hz: int) -> tuple[float, NDArray[np.float64]]:
    hop = 512
    tracker = aubio.tempo("default", 1024, hop, rate_hz)
    blocks = (samples[start : start + hop] for start in range(0, len(samples) - hop, hop))
    beats = [tracker.get_last_s() for block in blocks if tracker(np.ascontiguousarray(block))]
    return float(tracker.get_bpm()), np.array(beats)


TRACKERS: dict[str, Tracker] = {"ours": ours, "librosa": by_librosa, "aubio": by_aubio}


def scores(truth: dict, beats: NDArray[np.float64], tempo: float, length_s: float) -> tuple[float, ...]:
    reference = np.array([beat for beat in truth["beats"] if beat < length_s])
    found = mir_eval.beat.trim_beats(np.asarray(beats, dtype=float))
    f_measure = mir_eval.beat.f_measure(mir_eval.beat.trim_beats(reference), found)
    ratio = tempo / truth["tempo"]
    allowed = min(abs(ratio - level) / level for level in (0.5, 1.0, 2.0))
    return f_measure, float(abs(ratio - 1) < TEMPO_WITHIN), float(allowed < TEMPO_WITHIN)


def main(folder: Path) -> None:
    found: dict[tuple[str, str], list[tuple[float, ...]]] = {}
    seconds = dict.fromkeys(TRACKERS, 0.0)
    cents: list[float] = []
    music_s = 0.0
    for truth_path in sorted(folder.glob("*.json")):
        audio = next((p for p in folder.glob(f"{truth_path.stem}.*") if p.suffix in AUDIO), None)
        truth = json.loads(truth_path.read_text(encoding="utf-8"))
        if audio is None or "beats" not in truth:
            continue
        stereo, rate_hz = soundfile.read(audio, always_2d=True, dtype="float32")
        samples = np.ascontiguousarray(stereo.mean(axis=1))
        length_s = len(samples) / rate_hz
        music_s += length_s
        for name, tracker in TRACKERS.items():
            started = time.perf_counter()
            tempo, beats = tracker(samples, rate_hz)
            seconds[name] += time.perf_counter() - started
            score = scores(truth, beats, tempo, length_s)
            tempos = next(word for most, word in TEMPOS if truth["tempo"] < most)
            for kind in ("all", truth["cat"], tempos):
                found.setdefault((name, kind), []).append(score)
        if truth.get("cents") is not None:
            cents.append(abs(tuning_offset(samples, rate_hz) - truth["cents"]))
    report(found, seconds, cents, music_s)


def report(
    found: dict[tuple[str, str], list[tuple[float, ...]]],
    seconds: dict[str, float],
    cents: list[float],
    music_s: float,
) -> None:
    print(f"{'':10}{'clips':16}{'n':>4}{'F':>8}{'tempo':>8}{'x2 x1/2':>9}")
    for (name, kind), rows in sorted(found.items()):
        f_measure, tempo, allowed = np.mean(rows, axis=0)
        print(f"{name:10}{kind:16}{len(rows):4}{f_measure:8.3f}{tempo:8.3f}{allowed:9.3f}")
    for name, spent in seconds.items():
        print(f"{name}: {music_s / spent:.0f} x real time")
    if cents:
        print(
            f"tuning offset: mean error {np.mean(cents):.2f} cents, "
            f"worst {max(cents):.2f}, {len(cents)} clips"
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
