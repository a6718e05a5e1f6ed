"""Slow-down of single instruments against the bars: ``python -m tests.bench.slowdown_sounds [FONT] [SEED]``.

FONT is a General MIDI soundfont, played by fluidsynth: not the sounds that `coach.audio.stretch` was tuned
on. Each instrument plays random notes half a second to a second apart, some over a held chord; every note
is an attack whose time is known. Bars that were set before: attack rise at most 3 times the original, pre-
echo at most +3 dB, pitch within 1 cent, length within 5 ms, 100 % nulls to -100 dB, an octave's shift
within 1 cent. Pitch is measured on computed tones (theory), attacks on the rendered instruments.
"""

import random
import subprocess
import sys
import tempfile
from itertools import pairwise
from pathlib import Path

import mido
import numpy as np
import soundfile

from coach.audio.stretch import RubberStretcher
from tests.audio.test_stretch import level_before_db, measured_hz, tone
from tests.bench.slowdown import SPEEDS, rise_above_s

FONT = "/usr/share/sounds/sf3/MuseScore_General.sf3"
RATE_HZ = 44_100
PROGRAMS = {
    "nylon guitar": 24, "steel guitar": 25, "piano": 0, "harp": 46, "marimba": 12, "pick bass": 34,
    "voice": 53, "violin": 40, "flute": 73, "drums": -1,
}  # fmt: skip
"""General MIDI level 1 programs; the last four groups rise slowly or have no pitch."""
LOW = {"pick bass": 28, "voice": 57, "violin": 60, "flute": 65}
DRUMS = (36, 38, 42, 45, 49)
INAUDIBLE_DB = -85.0
"""What is fainter than this against full scale is silence (16 bits reach -96)."""
SLOWEST_ATTACK_S = 0.02
"""What rises more slowly than this in the original is no attack."""


def play(
    program: int, low: int, seed: int, *, held: bool, folder: Path, font: str
) -> tuple[np.ndarray, list[float]]:
    """Samples (n, 2) and the beginnings of all notes."""
    rng = random.Random(seed)
    onsets, at = [], 0.6
    while at < 11.0:
        onsets.append(at)
        at += rng.uniform(0.5, 1.0)
    track = mido.MidiTrack()
    channel = 9 if program < 0 else 0
    events: list[tuple[float, mido.Message]] = []
    if program >= 0:
        events.append((0.0, mido.Message("program_change", channel=0, program=program)))
    if held:
        events.append((0.0, mido.Message("program_change", channel=1, program=48)))
        for midi in (48, 55, 64):
            events.append((0.05, mido.Message("note_on", channel=1, note=midi, velocity=38)))
            events.append((11.8, mido.Message("note_off", channel=1, note=midi)))
    for onset, after in pairwise([*onsets, 11.8]):
        note = rng.choice(DRUMS) if program < 0 else low + rng.choice((0, 2, 4, 5, 7, 9, 12, 14, 16))
        events.append(
            (onset, mido.Message("note_on", channel=channel, note=note, velocity=rng.randint(60, 115)))
        )
        events.append((after - 0.03, mido.Message("note_off", channel=channel, note=note)))
    now = 0
    for time_s, message in sorted(events, key=lambda each: each[0]):
        tick = round(time_s * 960)
        track.append(message.copy(time=tick - now))
        now = tick
    file = mido.MidiFile(ticks_per_beat=480, tracks=[track])
    midi, wav = folder / "one.mid", folder / "one.wav"
    file.save(midi)
    options = ["-ni", "-q", "-g", "0.5", "-r", str(RATE_HZ), "-C", "0", "-R", "0", "-F", str(wav)]
    subprocess.run(["fluidsynth", *options, font, str(midi)], check=True, capture_output=True)
    sound, _ = soundfile.read(wav, dtype="float32", always_2d=True)
    return sound, onsets


def attacks(sound: np.ndarray, onsets: list[float], speed: float) -> list[tuple[float, float]]:
    """Of each attack: how much longer it rises, and how much louder it is before it, in dB."""
    slowed = RubberStretcher().render(sound, RATE_HZ, speed=speed)
    before, after = (part.mean(axis=1) + np.float32(1e-9) for part in (sound, slowed))
    found = []
    for onset_s in onsets:
        foot_s, rise = rise_above_s(before, onset_s + 0.005, RATE_HZ, least=3.0)
        if rise < SLOWEST_ATTACK_S:
            _, slow_rise = rise_above_s(after, foot_s / speed, RATE_HZ, least=1.5)
            levels = (level_before_db(after, foot_s / speed), level_before_db(before, foot_s))
            heard = [max(level, INAUDIBLE_DB) for level in levels]
            found.append((slow_rise / rise, heard[0] - heard[1]))
    return found


def theory() -> None:
    """Pitch, length, the null and the octave, on computed tones."""
    stretcher = RubberStretcher()
    worst_cents = worst_s = 0.0
    for hz in (82.407, 146.832, 329.628, 739.989, 1174.659):  # E2, D3, E4, F sharp 5, D6
        sound = tone(hz)
        for speed in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
            slowed = stretcher.render(sound, RATE_HZ, speed=speed)
            worst_cents = max(worst_cents, abs(1200 * np.log2(measured_hz(slowed[:, 0]) / hz)))
            worst_s = max(worst_s, abs(len(slowed) / RATE_HZ - len(sound) / RATE_HZ / speed))
    octaves = []
    for hz in (82.407, 146.832, 329.628, 739.989):
        for shift in (-12.0, 12.0):
            moved = stretcher.render(tone(hz), RATE_HZ, shift_semitones=shift)
            octaves.append(abs(1200 * np.log2(measured_hz(moved[:, 0]) / (hz * 2 ** (shift / 12)))))
    sound = tone(220.0)
    left = float(np.abs(stretcher.render(sound, RATE_HZ) - sound).max())
    null = f"{20 * np.log10(left):.0f} dB" if left else "exact"
    print(
        f"pitch: worst {worst_cents:.3f} cents; length: worst {1000 * worst_s:.2f} ms;"
        f" octave: worst {max(octaves):.3f} cents; 100 %: {null}"
    )


def main(words: list[str]) -> None:
    font, seed = (words[0] if words else FONT), int(words[1]) if len(words) > 1 else 1
    theory()
    print(
        "instrument       over    speed  attacks  rise x: median   worst  <=3x  echo dB: median  worst <=3dB"
    )
    with tempfile.TemporaryDirectory() as folder:
        for name, program in PROGRAMS.items():
            for held in (False, True):
                sound, onsets = play(
                    program, LOW.get(name, 45), seed + program, held=held, folder=Path(folder), font=font
                )
                for speed in SPEEDS:
                    rows = attacks(sound, onsets, speed)
                    if not rows:
                        continue
                    ratios, echoes = np.array(rows).T
                    print(
                        f"{name:16} {'chord' if held else 'alone':6} {speed:6} {len(rows):8}"
                        f" {np.median(ratios):15.2f} {ratios.max():7.2f} {np.mean(ratios <= 3):5.2f}"
                        f" {np.median(echoes):16.2f} {echoes.max():6.2f} {np.mean(echoes <= 3):6.2f}",
                        flush=True,
                    )


if __name__ == "__main__":
    main(sys.argv[1:])
