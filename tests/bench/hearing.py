"""The ear against its peers on recordings with known notes.

Usage: ``python -m tests.bench.hearing DATA [--peers] [--limit N]``, or ``--hour`` instead of DATA: an hour of
sound through the live ear, and whether its memory stays where it is.

DATA holds ``manifest.json`` (a list of ``{"id", "cond", "kind", "notes": [{"on", "off", "midi"}]}``),
``audio/ID.flac`` and ``truth/ID.csv`` (time in seconds, f0 in Hz each 10 ms; 0 no pitch, -1 not judged).

For each condition and register: right note decided within 250 ms, octave-wrong notes, note F1 (mir_eval,
onset 50 ms and 50 cents), raw pitch accuracy at 50 and 25 cents, voicing recall and false alarms (Poliner et
al. 2007), latency from onset to decision, and CPU against aubio's yinfft in the same run. The peers are aubio
yinfft and yinfast, the neural network in one batch, Praat's autocorrelation and pYIN by librosa; they have no
notes of their own, so their notes are what two agreeing frames say after the known onset.
"""

import argparse
import json
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import mir_eval
import numpy as np
import soundfile
from numpy.typing import NDArray

from coach.hearing.engines import engine_named
from coach.hearing.listening import Heard, listen
from tests.bench.steady_hour import hour

Track = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]
"""Centre times in seconds, f0 in Hz (0: none), times at which each was known."""
LATE_S = 0.25
AGREE_CENTS = 50.0
REGISTERS = (("E2-B2", 40, 48), ("C3-B3", 48, 60), ("C4-B4", 60, 72), ("C5-", 72, 128))


@dataclass
class Tally:
    """What was counted in one condition."""

    notes: int = 0
    in_time: int = 0
    octave: int = 0
    matched: int = 0
    heard: int = 0
    rpa50: list[float] = field(default_factory=list)
    rpa25: list[float] = field(default_factory=list)
    recall: list[float] = field(default_factory=list)
    alarms: list[float] = field(default_factory=list)
    latency_s: list[float] = field(default_factory=list)

    def row(self) -> str:
        f1 = 2 * self.matched / max(1, self.notes + self.heard) if self.heard else float("nan")
        late = np.quantile(self.latency_s, [0.5, 0.9]) if self.latency_s else [np.nan, np.nan]
        return (
            f"{self.notes:5d} {self.in_time / max(1, self.notes):6.3f} {self.octave:4d} {f1:6.3f} "
            f"{np.mean(self.rpa50):6.3f} {np.mean(self.rpa25):6.3f} {np.mean(self.recall):6.3f} "
            f"{np.mean(self.alarms):6.3f} {1000 * late[0]:5.0f} {1000 * late[1]:5.0f}"
        )


HEAD = "notes  in250  oct     F1  RPA50  RPA25  recall alarm   med   p90"


def hz(midi: float) -> float:
    return 440.0 * 2.0 ** ((midi - 69.0) / 12.0)


def frames_of(heard: Heard) -> Track:
    frames = heard.frames
    return (
        np.array([f.time_s for f in frames]),
        np.array([f.f0_hz or 0.0 for f in frames]),
        np.array([f.decided_s for f in frames]),
    )


# --- peers -------------------------------------------------------------------------------------------------


def aubio_track(method: str, tolerance: float | None) -> Callable[[NDArray[np.float32], int], Track]:
    def run(samples: NDArray[np.float32], rate_hz: int) -> Track:
        import aubio  # noqa: PLC0415

        window, hop = 2048, 512
        pitch = aubio.pitch(method, window, hop, rate_hz)
        pitch.set_unit("Hz")
        pitch.set_silence(-70)
        count = len(samples) // hop
        f0 = np.zeros(count)
        for i in range(count):
            value = float(pitch(samples[i * hop : (i + 1) * hop])[0])
            sure = tolerance is None or pitch.get_confidence() >= tolerance
            f0[i] = value if sure and 40.0 < value < 2200.0 else 0.0
        known = (np.arange(count) + 1) * hop / rate_hz
        return known - window / 2 / rate_hz, f0, known

    return run


def batch_track(samples: NDArray[np.float32], rate_hz: int) -> Track:
    from swift_f0 import SwiftF0  # noqa: PLC0415

    found = SwiftF0(threads=1, spin=False).detect(samples, rate_hz, 62.0, 1450.0)
    f0 = np.where(found.confidence >= 0.5, found.pitch_hz, 0.0)
    return found.timestamps, f0, found.timestamps + 0.176


def praat_track(samples: NDArray[np.float32], rate_hz: int) -> Track:
    import parselmouth  # noqa: PLC0415

    pitch = parselmouth.Sound(samples.astype(np.float64), rate_hz).to_pitch_ac(
        time_step=0.01, pitch_floor=65.0, pitch_ceiling=1450.0
    )
    return pitch.xs(), pitch.selected_array["frequency"], pitch.xs()


def pyin_track(samples: NDArray[np.float32], rate_hz: int) -> Track:
    import librosa  # noqa: PLC0415

    f0, voiced, _ = librosa.pyin(samples, fmin=65.0, fmax=1450.0, sr=rate_hz, frame_length=2048)
    times = librosa.times_like(f0, sr=rate_hz)
    return times, np.where(voiced, np.nan_to_num(f0), 0.0), times


PEERS: dict[str, Callable[[NDArray[np.float32], int], Track]] = {
    "aubio yinfft 2048/512": aubio_track("yinfft", None),
    "aubio yinfast 2048/512": aubio_track("yinfast", 0.67),
    "network, one batch": batch_track,
    "Praat autocorrelation": praat_track,
    "pYIN (librosa)": pyin_track,
}


# --- judging -----------------------------------------------------------------------------------------------


def judge_frames(tally: Tally, track: Track, truth: NDArray[np.float64]) -> None:
    """Raw pitch accuracy and voicing on the truth's own grid; the nearest frame counts."""
    times, f0, _ = track
    judged = truth[truth[:, 1] >= 0.0]
    nearest = np.clip(np.searchsorted(times, judged[:, 0]), 1, len(times) - 1)
    nearest -= (judged[:, 0] - times[nearest - 1]) < (times[nearest] - judged[:, 0])
    found, true = f0[nearest], judged[:, 1]
    voiced = true > 0.0
    off = np.full(len(true), np.inf)
    both = voiced & (found > 0.0)
    off[both] = 1200.0 * np.abs(np.log2(found[both] / true[both]))
    tally.rpa50.append(float(np.mean(off[voiced] <= 50.0)))
    tally.rpa25.append(float(np.mean(off[voiced] <= 25.0)))
    tally.recall.append(float(np.mean(found[voiced] > 0.0)))
    tally.alarms.append(float(np.mean(found[~voiced] > 0.0)) if (~voiced).any() else 0.0)


def judge_notes(tally: Tally, heard: Heard, notes: list[dict[str, float]]) -> None:
    true = np.array([[note["on"], note["off"]] for note in notes])
    pitches = np.array([hz(note.get("midi_f", note["midi"])) for note in notes])
    found = np.array([[n.span.start_s, n.span.end_s] for n in heard.notes]).reshape(-1, 2)
    found_hz = np.array([hz(n.midi + n.cents / 100.0) for n in heard.notes])
    tally.heard += len(heard.notes)
    if len(found):
        pairs = mir_eval.transcription.match_notes(true, pitches, found, found_hz, offset_ratio=None)
        tally.matched += len(pairs)
    for note in notes:
        near = [n for n in heard.notes if -0.05 <= n.span.start_s - note["on"] <= 0.2]
        right = [n.decided_s - note["on"] for n in near if n.midi == round(note["midi"])]
        count(tally, right, [n.midi - note["midi"] for n in near])


def judge_agreement(tally: Tally, track: Track, notes: list[dict[str, float]]) -> None:
    """A peer's note: the first two frames after the known onset that agree."""
    times, f0, known = track
    for note in notes:
        midi = None
        for i in np.flatnonzero((times > note["on"] + 0.012) & (known <= note["on"] + LATE_S))[1:]:
            pair = f0[i - 1 : i + 1]
            if (pair > 0.0).all() and abs(1200.0 * np.log2(pair[1] / pair[0])) <= AGREE_CENTS:
                midi = 69.0 + 12.0 * float(np.log2(pair[1] / 440.0))
                late_s = float(known[i] - note["on"])
                count(tally, [late_s] if abs(midi - note["midi"]) <= 0.5 else [], [midi - note["midi"]])
                break
        if midi is None:
            count(tally, [], [])


def count(tally: Tally, right: list[float], off: list[float]) -> None:
    tally.notes += 1
    if right:
        tally.latency_s.append(min(right))
        tally.in_time += min(right) <= LATE_S
    elif any(abs(abs(each) - octaves) < 0.6 for each in off for octaves in (12.0, 24.0)):
        tally.octave += 1


def register(midi: float) -> str:
    return next(name for name, low, high in REGISTERS if midi < high or low == 72)


def main() -> None:
    parser = argparse.ArgumentParser(description="the ear against its peers")
    parser.add_argument("data", type=Path, nargs="?")
    parser.add_argument("--hour", type=int, nargs="?", const=60, metavar="MIN", help="memory over an hour")
    parser.add_argument("--peers", action="store_true", help="run the peers, too (slow)")
    parser.add_argument("--limit", type=int, default=0, help="only so many clips of each condition")
    args = parser.parse_args()
    if args.hour:
        sys.exit(0 if hour(engine_named("auto"), args.hour) else 1)
    if args.data is None:
        parser.error("a folder of data is wanted, or --hour")
    clips = json.loads((args.data / "manifest.json").read_text())
    if args.limit:
        taken: dict[str, int] = defaultdict(int)
        kept = []
        for clip in clips:
            taken[clip["cond"]] += 1
            kept += [clip] * (taken[clip["cond"]] <= args.limit)
        clips = kept
    tables: dict[str, dict[str, Tally]] = defaultdict(lambda: defaultdict(Tally))
    cpu_s: dict[str, float] = defaultdict(float)
    length_s = 0.0
    yinfft = PEERS["aubio yinfft 2048/512"]
    engines = {f"coach {name}": engine_named(name) for name in ("neural", "yin")}
    for clip in clips:
        samples, rate_hz = soundfile.read(args.data / "audio" / f"{clip['id']}.flac", dtype="float32")
        samples = samples.mean(axis=1) if samples.ndim > 1 else samples
        truth = np.loadtxt(args.data / "truth" / f"{clip['id']}.csv", delimiter=",", ndmin=2)
        length_s += len(samples) / rate_hz
        groups = (clip["cond"], "register " + register(clip["notes"][0]["midi"]), "all")
        source = "voice" if clip["kind"] == "voice" else "guitar"
        for name, engine in engines.items():
            began = time.process_time()
            heard = listen(samples, rate_hz, engine=engine, source=source)
            cpu_s[name] += time.process_time() - began
            for group in groups:
                judge_frames(tables[name][group], frames_of(heard), truth)
                judge_notes(tables[name][group], heard, clip["notes"])
        for name, peer in PEERS.items() if args.peers else [("aubio yinfft 2048/512", yinfft)]:
            began = time.process_time()
            track = peer(samples, rate_hz)
            cpu_s[name] += time.process_time() - began
            for group in groups:
                judge_frames(tables[name][group], track, truth)
                judge_agreement(tables[name][group], track, clip["notes"])
    for name, groups_of in tables.items():
        share = cpu_s[name] / length_s
        ratio = cpu_s[name] / max(cpu_s["aubio yinfft 2048/512"], 1e-9)
        print(f"\n{name}: {share:.4f} of one core in real time, {ratio:.1f} x yinfft")
        print(f"{'':16} {HEAD}")
        for group, tally in sorted(groups_of.items(), key=lambda item: (item[0] == "all", item[0])):
            print(f"{group:16} {tally.row()}")


if __name__ == "__main__":
    main()
