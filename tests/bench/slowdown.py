"""Slow-down, decoding and playing against the bars, the quick mode and plain Rubber Band, in one run.

Usage: python tests/bench/slowdown.py DATA [--busy SECONDS]

DATA holds recordings: mp3 files, each with a json file beside it whose ``notes`` are [onset s, duration s,
MIDI, role]. ``--busy`` also plays through a private PulseAudio beside a busy Python thread and counts
underruns.
"""

import argparse
import json
import resource
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pedalboard
import soundfile
from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from coach.audio.decode import FileDecoder  # noqa: E402
from coach.audio.player import SectionPlayer  # noqa: E402
from coach.audio.streams import PortAudioCatalog  # noqa: E402
from coach.audio.stretch import RubberStretcher  # noqa: E402
from coach.sessions.player_port import LoopPart, PlayerState  # noqa: E402
from tests import pulse  # noqa: E402
from tests.audio.test_stretch import level_before_db, measured_hz, tone  # noqa: E402
from tests.fakes import FakeClock, FakeOutput, MemoryCache  # noqa: E402

Sound = NDArray[np.float32]
Renders = Callable[[Sound, int, float], Sound]
SPEEDS = (0.4, 0.5, 0.6, 0.8)
LENGTH_S = 12
APART_S = 0.15
"""Only attacks that stand alone by this much are measured."""


def best(sound: Sound, rate_hz: int, speed: float) -> Sound:
    return RubberStretcher().render(sound, rate_hz, speed=speed)


def quick(sound: Sound, rate_hz: int, speed: float) -> Sound:
    return RubberStretcher().render(sound, rate_hz, speed=speed, best=False)


def plain(sound: Sound, rate_hz: int, speed: float) -> Sound:
    done = pedalboard.time_stretch(np.ascontiguousarray(sound.T), rate_hz, stretch_factor=speed)
    return np.ascontiguousarray(done.T)


def lone_onsets(notes: list[list[float]], length_s: float) -> list[float]:
    onsets = sorted({round(note[0], 3) for note in notes})
    merged = [at for number, at in enumerate(onsets) if number == 0 or at - onsets[number - 1] > 0.02]
    return [
        at
        for number, at in enumerate(merged)
        if 0.3 < at < length_s - 0.5
        and (number == 0 or at - merged[number - 1] > APART_S)
        and (number == len(merged) - 1 or merged[number + 1] - at > APART_S)
    ]


def attacks(data: Path, renders: Renders, speed: float) -> tuple[list[float], list[float], float]:
    """Ratios of rise, dB of pre-echo, and seconds of source rendered a second."""
    ratios: list[float] = []
    echoes: list[float] = []
    source_s = spent_s = 0.0
    decoder = FileDecoder()
    for path in sorted(data.rglob("*.mp3"))[::7]:
        told = json.loads(path.with_suffix(".json").read_text())
        sound = decoder.decode(path)
        part = sound.stereo[: LENGTH_S * sound.rate_hz]
        began_s = time.perf_counter()
        slowed = renders(part, sound.rate_hz, speed)
        spent_s += time.perf_counter() - began_s
        source_s += part.shape[0] / sound.rate_hz
        before, after = part.mean(axis=1), slowed.mean(axis=1)
        for onset_s in lone_onsets(told["notes"], LENGTH_S):
            foot_s, rise = rise_above_s(before, onset_s, sound.rate_hz, least=3.0)
            if rise < 0.02:  # what rises slowly is no attack
                _, slow_rise = rise_above_s(after, foot_s / speed, sound.rate_hz, least=1.5)
                ratios.append(slow_rise / rise)
                echoes.append(level_before_db(after, foot_s / speed) - level_before_db(before, foot_s))
    decoder.close()
    return ratios, echoes, source_s / spent_s


def rise_above_s(sound: Sound, near_s: float, rate_hz: int, *, least: float) -> tuple[float, float]:
    """When an attack rises, and how long from 10 to 90 % of the way from the level before it to its peak.

    Other notes ring on, so the level before is taken out; a second where the level does not become
    ``least`` times what it was.
    """
    width = round(0.003 * rate_hz)
    first = round((near_s - 0.06) * rate_hz)
    part = sound[first : round((near_s + 0.06) * rate_hz)].astype(np.float64)
    part = np.diff(part)  # weighs up the high partials that make an attack sharp
    envelope = np.sqrt(np.convolve(part**2, np.ones(width) / width, "same"))
    floor = float(np.median(envelope[round(0.01 * rate_hz) : round(0.045 * rate_hz)]))
    top = float(envelope[round(0.05 * rate_hz) :].max())
    if top < least * floor:
        return near_s, 1.0
    high = int(np.argmax(envelope >= floor + 0.9 * (top - floor)))
    low = high
    while low > 0 and envelope[low] > floor + 0.1 * (top - floor):
        low -= 1
    return (first + low) / rate_hz, max(high - low, 1) / rate_hz


def slow_down(data: Path) -> None:
    print(
        "renderer  speed  rise x: median  p95   <=3x   pre-echo dB: median  p95   <=3dB   cents   x real time"
    )
    for name, renders in (("best", best), ("quick", quick), ("plain R3", plain)):
        for speed in SPEEDS:
            ratios, echoes, pace = attacks(data, renders, speed)
            slowed = renders(tone(196.0), 44_100, speed)[:, 0]
            cents = 1200 * np.log2(measured_hz(slowed) / 196.0)
            print(
                f"{name:9} {speed:5} {np.median(ratios):15.2f} {np.quantile(ratios, 0.95):6.2f}"
                f" {np.mean(np.array(ratios) <= 3):6.3f} {np.median(echoes):20.2f}"
                f" {np.quantile(echoes, 0.95):6.2f} {np.mean(np.array(echoes) <= 3):7.3f} {cents:8.3f}"
                f" {pace:8.1f}  ({len(ratios)} attacks)"
            )


def decoding(data: Path) -> None:
    """A ten-minute mp3 made of the clips."""
    decoder = FileDecoder()
    clips = [decoder.decode(path) for path in sorted(data.rglob("*.mp3"))[:6]]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.mp3"
        with soundfile.SoundFile(path, "w", 44_100, 2, format="MP3") as out:
            written = 0
            while written < 600 * 44_100:
                for clip in clips:
                    out.write(clip.stereo[:44_100])
                    written += 44_100
        del clips
        before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        began_s = time.perf_counter()
        decoded = decoder.decode(path)
        spent_s = time.perf_counter() - began_s
        used_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(
            f"decoding {decoded.duration_s:.0f} s of mp3: {decoded.duration_s / spent_s:.0f} x real time;"
            f" process peak {used_kb / 1024:.0f} MB (before {before_kb / 1024:.0f} MB)"
        )
        wav = Path(folder) / "tiny.wav"
        soundfile.write(wav, np.zeros((4_410, 2), np.float32), 44_100)
        flac = Path(folder) / "tiny.flac"
        soundfile.write(flac, np.zeros((4_410, 2), np.float32), 44_100)
        for tiny in (wav, flac):
            began_s = time.perf_counter()
            for _ in range(200):
                decoder.decode(tiny)
            print(f"a tiny {tiny.suffix} file: {(time.perf_counter() - began_s) / 200 * 1000:.2f} ms")
    decoder.close()


def player(data: Path) -> None:
    """How soon a new speed is heard, the first time and again."""
    decoded = FileDecoder().decode(min(data.rglob("*.mp3")))
    clock = FakeClock()
    looped = SectionPlayer(FakeOutput(48_000, clock), RubberStretcher(), MemoryCache())
    looped.load(decoded.stereo, decoded.rate_hz, decoded.sha256)
    for speed in (0.6, 0.8, 0.6):
        began_s = time.perf_counter()
        looped.play(LoopPart(0.0, 20.0, speed=speed))
        while looped.state is not PlayerState.PLAYING or looped._part.speed != speed:
            time.sleep(0.002)
        heard_s = time.perf_counter() - began_s
        while not looped.best:
            clock.sleep(0.02)
            time.sleep(0.002)
        print(
            f"20 s at {speed:.0%}: heard after {heard_s:.2f} s,"
            f" best after {time.perf_counter() - began_s:.1f} s"
        )
    looped.close()


def busy(data: Path, seconds: float) -> None:
    """The workbench's player on a real device beside a busy thread; speeds change while it sounds."""
    decoded = FileDecoder().decode(min(data.rglob("*.mp3")))
    sys.setswitchinterval(0.0005)
    with pulse.PrivatePulse() as server, pulse.in_this_process(server):
        speaker = PortAudioCatalog().output()
        speaker.open()
        looped = SectionPlayer(speaker, RubberStretcher(), MemoryCache())
        looped.load(decoded.stereo, decoded.rate_hz, decoded.sha256)
        stop = threading.Event()

        def toil() -> None:
            while not stop.is_set():
                sum(range(20_000))

        thread = threading.Thread(target=toil)
        thread.start()
        for speed in (0.6, 0.8, 0.5, 0.6):
            began_s = time.perf_counter()
            looped.play(LoopPart(0.0, 12.0, speed=speed))
            while looped.state is not PlayerState.PLAYING or looped._part.speed != speed:
                time.sleep(0.002)
            heard_s = time.perf_counter() - began_s
            time.sleep(max(0.0, seconds / 4 - heard_s))
            best = "best" if looped.best else "quick"
            gap_ms = 1000 * looped._source.waited / speaker.rate_hz
            print(f"{speed:.0%}: begun after {heard_s:.2f} s, then {best}, gaps of {gap_ms:.0f} ms")
        stop.set()
        thread.join()
        print(f"{seconds:.0f} s beside a busy thread: {speaker.underruns} underruns")
        looped.close()
        speaker.close()


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("data", type=Path)
    parser.add_argument("--busy", type=float, default=0.0)
    args = parser.parse_args()
    if args.busy:
        busy(args.data, args.busy)
    decoding(args.data)
    player(args.data)
    slow_down(args.data)


if __name__ == "__main__":
    main()
