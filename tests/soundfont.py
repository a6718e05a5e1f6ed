"""Recorded instruments for tests: Debian's FluidR3 soundfont (MIT licence), rendered by fluidsynth."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

SOUNDFONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
NYLON, STEEL = 24, 25
"""General MIDI level 1, sound set: acoustic guitar with nylon and with steel strings, counted from 0."""
_TICKS = 480
Samples = NDArray[np.float32]


def require_soundfont() -> None:
    """Skip where soundfont or fluidsynth are missing; fail under ``CI=true``."""
    if SOUNDFONT.exists() and shutil.which("fluidsynth"):
        return
    sentence = "recorded notes need fluidsynth and fluid-soundfont-gm"
    if os.environ.get("CI") == "true":
        pytest.fail(sentence)
    pytest.skip(sentence)


def recorded(
    notes: Sequence[tuple[int, float, float]], rate_hz: int = 48_000, *, program: int = NYLON
) -> Samples:
    """Notes as (MIDI number, start and end in seconds) on a recorded instrument; mono, shape (n,)."""
    require_soundfont()
    events = [(start_s, 1, midi) for midi, start_s, _ in notes]
    events += [(end_s, 0, midi) for midi, _, end_s in notes]
    track = mido.MidiTrack([mido.Message("program_change", program=program)])
    now = 0
    for at_s, on, midi in sorted(events):
        tick = round(at_s * 2 * _TICKS)  # 120 quarter notes a minute, MIDI's own default
        word = "note_on" if on else "note_off"
        track.append(mido.Message(word, note=midi, velocity=96 if on else 0, time=tick - now))
        now = tick
    with tempfile.TemporaryDirectory() as folder:
        score, sound = Path(folder) / "notes.mid", Path(folder) / "notes.wav"
        mido.MidiFile(ticks_per_beat=_TICKS, tracks=[track]).save(score)
        words = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.8", "-r", str(rate_hz)]
        words += ["-F", str(sound), str(SOUNDFONT), str(score)]
        subprocess.run(words, check=True, capture_output=True)
        samples, _ = soundfile.read(sound, dtype="float32", always_2d=True)
    mono: Samples = samples.mean(axis=1, dtype=np.float32)
    return mono
