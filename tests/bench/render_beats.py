"""Render clips with known beats: ``python -m tests.bench.render_beats OUT --seed N [--fonts F...]``.

Each clip is a WAV beside a JSON that ``recording`` reads (``beats`` in seconds, ``tempo``, ``cents``,
``cat``). Tempos from 50 to 180 beats a minute, bars of 2, 3, 4 and of six eighths, straight and swung, with
and without drums, tempos that breathe by up to 5 %, soft and hard attacks. FONTS are General MIDI
soundfonts. Tunes are split in two halves by ``--half``: what is tuned on is not what is reported on.
"""

import argparse
import json
import random
import subprocess
import tempfile
from pathlib import Path

import mido
import numpy as np
import soundfile

from tests.bench.beat_clips import DRUMS, Clock, Material, draw, drums, read_tunes, swung
from tests.bench.clip_notes import Sounding
from tests.bench.clip_sounds import treat

CLIP_S = 26.0
RATE_HZ = 44_100
USUAL_BPM, ALL_BPM = (55.0, 126.0), (50.0, 180.0)
"""Half of the clips are as fast as first pieces are, the others as fast as any."""
PROGRAMS = {
    "piano": ((0, 1, 2, 4, 6), None, None),
    "violin_piano": ((40, 41, 42, 68, 71, 73), (0, 1), None),
    "voice_guitar": ((52, 53, 54), (24, 25), (24, 25)),
    "band": ((22, 24, 26, 56, 65, 66, 71, 73, 11, 61), (0, 4, 24, 25, 16), (32, 33, 34, 35)),
    "guitar": ((24, 25, 46, 12), None, None),
    "strings": ((40, 48, 44, 19, 21), (48, 41, 50), (42, 43, 48)),
}
"""General MIDI programs (MIDI Association, GM level 1) for melody, filling, bass."""
KINDS = ("piano", "violin_piano", "voice_guitar", "band", "piano", "voice_guitar", "band", "violin_piano",
         "guitar", "strings")  # fmt: skip


def render(number: int, seed: int, rows: list[list], fonts: list[str], folder: Path) -> None:
    """One clip; the same for the same number, seed, tunes and fonts."""
    rng = random.Random(seed * 10_000 + number)
    kind = KINDS[number % len(KINDS)]
    low, high = USUAL_BPM if rng.random() < 0.5 else ALL_BPM
    bpm = float(np.exp(rng.uniform(np.log(low), np.log(high))))
    beats = CLIP_S * bpm / 60
    material = draw(rows, beats, bpm, rng)
    notes = [n for n in material.notes if n.beat < beats]
    end = max(n.beat + n.beats for n in notes)
    beating = rng.choice(DRUMS) if kind == "band" else "none"
    notes += drums(material, beating, min(end, beats), rng)
    swing = rng.uniform(0.58, 0.68) if material.meter != "6/8" and rng.random() < 0.15 else 0.5
    clock = Clock(
        bpm=bpm,
        depth=rng.choice((0.0, 0.02, 0.03, 0.05)),
        every=rng.choice((8.0, 16.0, 23.0)),
        phase=rng.uniform(0, 6),
        slowing=rng.choice((0.0, 0.0, 0.3)),
        end=min(end, beats),
    )
    cents = rng.choice((0.0, rng.uniform(-30, 30), rng.uniform(-30, 30)))
    font = rng.choice(fonts)
    path = folder / f"s{seed}_{number:04d}_{kind}.wav"
    made = _play(swung(notes, swing), clock, kind, font, path, rng)
    _finish(path, cents, rng)
    ratio = 2 ** (cents / 1200)
    found = clock.times(np.arange(int(np.ceil(min(end, beats) - 1e-6)))) / ratio
    facts = {
        "cat": kind, "title": material.title, "meter": material.meter, "cents": cents,
        "tempo": float(60 / np.median(np.diff(found))), "beats": found.tolist(), "font": Path(font).name,
        "drums": beating, "swing": swing, "depth": clock.depth, **made,
        "beats_a_bar": material.beats_a_bar, "per_beat": _per_beat(material, end),
    }  # fmt: skip
    path.with_suffix(".json").write_text(json.dumps(facts))


def _per_beat(material: Material, end: float) -> float:
    return len({round(n.beat, 3) for n in material.notes}) / end


def _play(
    notes: list[Sounding], clock: Clock, kind: str, font: str, path: Path, rng: random.Random
) -> dict[str, object]:
    """Through fluidsynth into a WAV; what was drawn for it."""
    lead, filling, low = (rng.choice(p) if p else None for p in PROGRAMS[kind])
    channels = {"mel": 0, "in": 0 if filling is None else 1, "drum": 9}
    channels["bass"] = channels["in"] if low is None else 2
    level = {"mel": rng.randint(72, 110), "in": rng.randint(45, 85), "bass": rng.randint(58, 98),
             "drum": rng.randint(40, 90)}  # fmt: skip
    loose, legato = rng.choice((0.004, 0.008, 0.015)), rng.choice((0.6, 0.9, 0.97))
    events = []
    for n in notes:
        start, stop = clock.times(np.array((n.beat, n.beat + n.beats)))
        start = max(0.0, start + rng.gauss(0, loose))
        stop = max(start + 0.06, start + (stop - start) * legato)
        loud = int(np.clip(level[n.role] + rng.gauss(0, 6), 20, 124))
        made = {"channel": channels[n.role], "note": n.midi}
        events.append((start, 1, mido.Message("note_on", velocity=loud, **made)))
        events.append((stop, 0, mido.Message("note_off", **made)))
    track = mido.MidiTrack()
    for channel, program in ((0, lead), (1, filling), (2, low)):
        if program is not None:
            track.append(mido.Message("program_change", channel=channel, program=program))
    now = 0
    for time_s, _, message in sorted(events, key=lambda each: each[:2]):
        tick = round(time_s * 960)
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=960))
    room = str(int(rng.random() < 0.5))
    with tempfile.TemporaryDirectory() as place:
        midi = Path(place) / "one.mid"
        mido.MidiFile(ticks_per_beat=480, tracks=[track]).save(midi)
        options = ["-ni", "-q", "-g", "0.5", "-r", str(RATE_HZ), "-C", "0", "-R", room, "-F", str(path)]
        options += ["-o", "synth.dynamic-sample-loading=1"]
        subprocess.run(["fluidsynth", *options, font, str(midi)], check=True, capture_output=True)
    return {"programs": [lead, filling, low], "loose": loose}


def _finish(path: Path, cents: float, rng: random.Random) -> None:
    """Treated as recordings are, and tuned: the file is told to be played that much faster."""
    sound, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    treated = treat(sound.mean(axis=1)[: int((CLIP_S + 1) * rate_hz)], rate_hz, rng)
    soundfile.write(path, treated, round(rate_hz * 2 ** (cents / 1200)), subtype="PCM_16")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--half", type=int, choices=(0, 1), default=1)
    parser.add_argument("--fonts", nargs="+", default=["/usr/share/sounds/sf3/MuseScore_General_Full.sf3"])
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    rows = read_tunes(args.out.parent / "beat_tunes.json")
    for number in range(args.count):
        render(number, args.seed, rows[args.half :: 2], args.fonts, args.out)


if __name__ == "__main__":
    main()
