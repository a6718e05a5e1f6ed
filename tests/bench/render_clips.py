"""Render the clips that the evidence model learns on: ``python -m tests.bench.render_clips OUT [SHARE...]``.

Each clip is a WAV beside a JSON of its notes (onset s, duration s, MIDI, role) and how it was made. Sounds
are Debian's soundfonts, played by fluidsynth, and computed ones. Three shares with other seeds and other
sounds:

- ``learn``: FluidR3_GM, sf_GMbank (csound), OPL-3_FM, computed instruments; and ``learn_more``, which
  needs ``--grand ZIP``: a recorded grand piano (see ``clip_grand``) as well, fuller textures, wider dynamics,
  and rooms and carriers out of ``clip_rooms``;
- ``choose``: TimGM6mb, and computed instruments of other seeds;
- ``report``: MuseScore_General, and computed instruments of other seeds.

Rendered audio stays in OUT and is never committed. Tunes of the shares do not overlap.
"""

import argparse
import json
import random
import subprocess
from dataclasses import dataclass
from pathlib import Path

import mido
import numpy as np
import soundfile

from tests.bench.clip_grand import GRAND_RATE, draw_touch, recorded, strike
from tests.bench.clip_notes import (
    STYLES,
    Sounding,
    Tune,
    arrange,
    random_tune,
    read_corpus,
    shifted,
    voices_clip,
)
from tests.bench.clip_rooms import weather
from tests.bench.clip_scores import FULLER, fuller, read_scores, score_clip
from tests.bench.clip_sounds import COMPUTED_RATE, draw, tone, treat

SF = "/usr/share/sounds/sf2/"
FLUID, GMBANK, OPL = SF + "FluidR3_GM.sf2", SF + "sf_GMbank.sf2", SF + "OPL-3_FM_128M.sf2"
SHARES = {
    "learn": ((FLUID, FLUID, FLUID, FLUID, GMBANK, OPL, "", "", ""), 1000),
    "choose": ((SF + "TimGM6mb.sf2", SF + "TimGM6mb.sf2", ""), 2000),
    "report": (
        ("/usr/share/sounds/sf3/MuseScore_General.sf3", "/usr/share/sounds/sf3/MuseScore_General.sf3", ""),
        3000,
    ),
    "learn_more": ((FLUID, FLUID, GMBANK, OPL, "", "", "grand", "grand"), 4000),
    "choose_more": ((SF + "TimGM6mb.sf2", SF + "TimGM6mb.sf2", ""), 5000),
    "report_more": (
        ("/usr/share/sounds/sf3/MuseScore_General.sf3", "/usr/share/sounds/sf3/MuseScore_General.sf3", ""),
        6000,
    ),
    "grand": (("grand",), 7000),
}
COUNTS = {
    "learn": 609,
    "choose": 120,
    "report": 120,
    "learn_more": 336,
    "choose_more": 60,
    "report_more": 60,
    "grand": 36,
}
ROUGH = ("learn_more", "choose_more", "report_more", "grand")
"""Shares with fuller textures and rougher carriers; ``grand`` is measured on, with another recorded piano."""
THIRD = {"choose": 1, "choose_more": 1, "report": 2, "report_more": 2, "grand": 2}
"""The third of the corpus that a share draws from, 0 where none stands here."""
ENSEMBLES = ("piano", "piano", "violin_piano", "voice_guitar", "voice_guitar", "band", "guitar", "strings")
ROUGH_ENSEMBLES = (
    "piano", "piano", "voice_guitar", "piano", "violin_piano",
    "band", "piano", "guitar", "strings", "voice_guitar",
)  # fmt: skip
CLIP_S = 22.0
PROGRAMS = {
    "piano": ((0, 0, 0, 1, 2, 3, 4, 6), (0,), (0,)),
    "violin_piano": ((40, 40, 41, 42, 68, 71, 73), (0, 0, 1), (0,)),
    "voice_guitar": ((52, 53, 53, 52, 54, 91, 85), (24, 24, 25), (24,)),
    "band": ((22, 24, 26, 56, 65, 66, 71, 72, 73, 11, 61, 80), (0, 4, 24, 25, 16, 27), (32, 33, 34, 35)),
    "guitar": ((24, 25, 26, 46, 15), (24,), (24,)),
    "strings": ((40, 48, 44, 19, 21, 45), (41, 48), (42, 43)),
}
"""General MIDI programs (MIDI Association, GM level 1) for melody, filling, bass."""


@dataclass(frozen=True, slots=True)
class Timed:
    start_s: float
    length_s: float
    midi: int
    role: str
    velocity: int


def _material(
    number: int, kind: str, share: str, library: dict, rng: random.Random
) -> tuple[str, list[Sounding]]:
    """A note list; each share draws from its own third of the corpus."""
    first = THIRD.get(share, 0)
    pool = {
        name: [t for k, t in enumerate(items) if (k % 4 if k % 4 < 3 else 0) == first]
        for name, items in library.items()
        if name != "scores"
    }
    beats = CLIP_S * 2.2
    styles = STYLES
    if share in ROUGH:
        styles = (*STYLES, *FULLER, *FULLER)
        if kind == "piano" and rng.random() < 0.3:
            score = rng.choice(library["scores"]["kept_back" if first == 2 else "learned"])
            return f"score/{number}", score_clip(score, rng, beats)
    choice = rng.random()
    if choice < 0.3 and kind in {"piano", "strings", "guitar", "violin_piano"}:
        title, voices = rng.choice(
            pool["chorales"] if choice < 0.16 or not pool["quartets"] else pool["quartets"]
        )
        return title, voices_clip(voices, rng, beats)
    tune = random_tune(rng, beats) if choice > 0.65 else Tune(*_as_tune(rng.choice(pool["tunes"])))
    middle_of = {
        "piano": 71,
        "violin_piano": 74,
        "voice_guitar": 67,
        "band": 71,
        "guitar": 67,
        "strings": 72,
    }[kind]
    median = sorted(n[2] for n in tune.notes)[len(tune.notes) // 2]
    move = 12 * round((middle_of + rng.randint(-6, 6) - median) / 12) + rng.randint(-4, 4)
    tune = Tune(tune.title, (tune.tonic + move) % 12, tune.scale, tune.bar,
                tuple((b, d, m + move) for b, d, m in tune.notes))  # fmt: skip
    low = {"piano": rng.choice((31, 36, 41)), "violin_piano": rng.choice((33, 38)), "voice_guitar": 40,
           "band": rng.choice((28, 31)), "guitar": 40, "strings": rng.choice((36, 41))}[kind]  # fmt: skip
    over = rng.choice((-1, 0, 3, 7)) if kind in {"voice_guitar", "band"} else rng.choice((-2, -1, -1, 0))
    style, middle = rng.choice(styles), rng.choice((48, 52, 55))
    made = fuller if style in FULLER else arrange
    return f"{tune.title}/{number}", made(tune, style, low=low, middle=middle, over=over, rng=rng)


def _as_tune(raw: list) -> tuple:
    title, tonic, scale, bar, notes = raw
    return title, tonic, tuple(scale), bar, tuple((b, d, int(m)) for b, d, m in notes)


def _timed(notes: list[Sounding], rng: random.Random, *, rough: bool) -> list[Timed]:
    """Give beats a tempo that breathes, notes a touch, roles a loudness; ``rough``: phrases that swell."""
    bpm, depth, phase = rng.uniform(56, 124), rng.choice((0.0, 0.03, 0.08)), rng.uniform(0, 6)
    grid = np.arange(0, 200, 1 / 8)
    at = np.concatenate(([0], np.cumsum(60 / bpm / 8 / (1 + depth * np.sin(phase + grid[:-1] * 0.4))))) + 0.4
    legato, loose = rng.choice((0.6, 0.9, 0.97, 1.0)), rng.choice((0.003, 0.01, 0.02))
    level = {"mel": rng.randint(72, 110), "in": rng.randint(38, 88), "bass": rng.randint(52, 98)}
    swell, every_s, spread = 0.0, 1.0, 6.0
    if rough:
        swell, every_s, spread = rng.uniform(0, 18), rng.uniform(3, 9), rng.uniform(3, 10)
        level = {"mel": rng.randint(50, 112), "in": rng.randint(34, 96), "bass": rng.randint(42, 104)}
        level["in"] = min(level["in"], level["mel"] + 4)
    out = []
    for n in notes:
        start, end = (float(np.interp(b, grid, at)) for b in (n.beat, n.beat + n.beats))
        if start < CLIP_S - 0.3 and 21 <= n.midi <= 108:
            begin = max(0.0, start + rng.gauss(0, loose))
            length = max(0.06, (end - start) * (legato if n.role != "bass" else 0.97))
            wave = swell * float(np.sin(2 * np.pi * start / every_s)) if rough else 0.0
            velocity = int(np.clip(level[n.role] + rng.gauss(0, spread) + wave, 18, 124))
            out.append(Timed(begin, length, n.midi, n.role, velocity))
    return sorted(out, key=lambda t: t.start_s)


def _events(
    notes: list[Timed], channel: dict[str, int], *, pedal: bool, vibrato: float, rng: random.Random
) -> list:
    events = []
    for n in notes:
        c = channel[n.role]
        events.append((n.start_s, 1, mido.Message("note_on", channel=c, note=n.midi, velocity=n.velocity)))
        events.append((n.start_s + n.length_s, 0, mido.Message("note_off", channel=c, note=n.midi)))
        if vibrato and n.role == "mel" and channel["mel"] != channel["in"]:
            scoop = rng.choice((0, 0, -1)) * rng.uniform(200, 1600)
            rate = rng.uniform(4.5, 6.5)
            for k in range(int(n.length_s / 0.025)):
                t = k * 0.025
                bend = scoop * np.exp(-t / 0.05) + vibrato * 40.96 * min(1, t / 0.3) * np.sin(
                    2 * np.pi * rate * t
                )
                events.append((n.start_s + t, 2, mido.Message("pitchwheel", channel=c, pitch=int(bend))))
    if pedal:
        changes = sorted({round(n.start_s, 2) for n in notes if n.role == "bass"})
        for t in changes:
            for value in (0, 127):
                change = mido.Message("control_change", channel=channel["in"], control=64, value=value)
                events.append((t + 0.03, 0, change))
    return sorted(events, key=lambda e: (e[0], e[1]))


def _play(notes: list[Timed], kind: str, font: str, path: Path, rng: random.Random) -> dict:
    """Through fluidsynth into a WAV of 44.1 kHz."""
    lead, filling, low = (rng.choice(p) for p in PROGRAMS[kind])
    alone = kind in {"piano", "guitar"}
    channel = {
        "mel": 0,
        "in": 0 if alone else 1,
        "bass": 0 if alone else (2 if kind in {"band", "strings"} else 1),
    }
    programs = {0: lead, **({} if alone else {1: filling}), **({2: low} if channel["bass"] == 2 else {})}
    pedal = kind in {"piano", "violin_piano"} and rng.random() < 0.45
    vibrato = rng.choice((0.0, 15.0, 30.0, 50.0)) if kind in {"voice_guitar", "violin_piano", "band"} else 0.0
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    for c, program in programs.items():
        track.append(mido.Message("program_change", channel=c, program=program))
    events = _events(notes, channel, rng=rng, pedal=pedal, vibrato=vibrato)
    if kind == "band" and rng.random() < 0.8:
        step, loud = rng.uniform(0.22, 0.4), rng.randint(40, 85)
        for k in range(int(CLIP_S / step)):
            drum = (36, 42, 38, 42)[k % 4]
            events.append((k * step, 1, mido.Message("note_on", channel=9, note=drum, velocity=loud)))
        events.sort(key=lambda e: (e[0], e[1]))
    now = 0
    for time, _, message in events:
        tick = round(time * 960)
        track.append(message.copy(time=max(0, tick - now)))
        now = max(now, tick)
    track.append(mido.MetaMessage("end_of_track", time=960))
    midi = path.with_suffix(".mid")
    file.save(midi)
    room = rng.random() < 0.4
    options = ["-ni", "-q", "-g", "0.5", "-r", "44100", "-C", "0", "-o", "synth.dynamic-sample-loading=1"]
    room_options = ["-R", str(int(room)), "-F", str(path)]
    subprocess.run(["fluidsynth", *options, *room_options, font, str(midi)], check=True, capture_output=True)
    midi.unlink()
    return {"programs": programs, "pedal": pedal, "vibrato": vibrato}


def _compute(notes: list[Timed], kind: str, rng: random.Random) -> tuple[np.ndarray, dict]:
    low = draw("string", rng)
    lead = low if kind in {"piano", "guitar"} else draw("sung" if kind == "voice_guitar" else "blown", rng)
    end = max(n.start_s + n.length_s for n in notes) + 1.0
    out = np.zeros(int(end * COMPUTED_RATE))
    noise = np.random.default_rng(rng.randrange(2**32))
    ring = rng.choice((0.0, 0.0, 0.5, 1.5)) if lead is low else 0.0
    for n in notes:
        sound = lead if n.role == "mel" else low
        wave = tone(sound, n.midi, n.length_s + ring, (n.velocity - 18) / 106, noise)
        at = int(n.start_s * COMPUTED_RATE)
        wave = wave[: len(out) - at]
        out[at : at + len(wave)] += wave * {"mel": 1.0, "in": 0.6, "bass": 0.9}[n.role]
    return out, {"lead": lead.kind, "low": low.kind, "ring": ring}


def _struck(notes: list[Timed], kind: str, grand: Path, rng: random.Random) -> tuple[np.ndarray, dict]:
    """On a recorded grand piano, the pedal changed at each bass note or not used."""
    sounds, touch = recorded(grand), draw_touch(rng)
    lead = draw("blown", rng) if kind == "violin_piano" else None
    pedal = rng.random() < 0.55
    changes = [*sorted(n.start_s + 0.03 for n in notes if n.role == "bass"), CLIP_S + 2.0]
    noise = np.random.default_rng(rng.randrange(2**32))
    out = np.zeros(int((CLIP_S + 4.0) * GRAND_RATE), np.float32)
    for n in notes:
        if lead is not None and n.role == "mel":
            wave = 0.3 * tone(lead, n.midi, n.length_s, (n.velocity - 18) / 106, noise)
            wave = np.interp(np.arange(0, len(wave), COMPUTED_RATE / GRAND_RATE), np.arange(len(wave)), wave)
        else:
            lifted = next((c for c in changes if c > n.start_s + n.length_s), n.start_s) if pedal else 0.0
            held = max(n.length_s, lifted - n.start_s)
            wave = strike(sounds, n.midi, held, n.velocity / 127, touch, rng)
        at = int(n.start_s * GRAND_RATE)
        wave = wave[: len(out) - at]
        out[at : at + len(wave)] += wave
    return out[: int((CLIP_S + 1) * GRAND_RATE)], {"pedal": pedal, "lead": lead.kind if lead else "grand"}


def render(number: int, share: str, folder: Path, library: dict, grand: Path | None = None) -> None:
    """One clip; ``library`` is what ``read_corpus`` gave, with the piano pieces under ``scores``."""
    fonts, seed = SHARES[share]
    rng = random.Random(seed * 1000 + number)
    ensembles = ROUGH_ENSEMBLES if share in ROUGH else ENSEMBLES
    ensembles = ENSEMBLES[:3] if share == "grand" else ensembles
    kind, font = ensembles[number % len(ensembles)], fonts[rng.randrange(len(fonts))]
    if font == "grand" and kind not in {"piano", "violin_piano"}:
        font = FLUID
    title, material = _material(number, kind, share, library, rng)
    if rng.random() < 0.15:
        material = shifted(material, -12, "bass") if min(n.midi for n in material) > 45 else material
    notes = _timed(material, rng, rough=share in ROUGH)
    path = folder / f"{share}_{number:04d}_{kind}.wav"
    if font == "grand" and grand is not None:
        sound, made = _struck(notes, kind, grand, rng)
        rate = GRAND_RATE
    elif font:
        made = _play(notes, kind, font, path, rng)
        sound, rate = soundfile.read(path, dtype="float32", always_2d=True)
        sound = sound.mean(1)[: int((CLIP_S + 1) * rate)]
    else:
        sound, made = _compute(notes, kind, rng)
        rate = COMPUTED_RATE
    sound = (weather if share in ROUGH and rng.random() < 0.8 else treat)(sound, rate, rng)
    cents = rng.choice((0.0, rng.uniform(-30, 30), rng.uniform(-30, 30)))
    ratio = 2 ** (cents / 1200)
    soundfile.write(path, sound, rate, subtype="PCM_16")
    facts = {
        "kind": kind, "title": title, "font": Path(font).name or "computed", "cents": cents,
        "rate_hz": rate * ratio, **made,
        "notes": [[n.start_s / ratio, n.length_s / ratio, n.midi, n.role] for n in notes],
    }  # fmt: skip
    path.with_suffix(".json").write_text(json.dumps(facts))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("shares", nargs="*", default=["learn", "choose", "report"], choices=list(COUNTS))
    parser.add_argument("--grand", type=Path, help="recorded notes of a grand piano, see clip_grand")
    parser.add_argument(
        "--part", type=int, nargs=2, default=(0, 1), help="K N: each N-th clip from the K-th on"
    )
    words = parser.parse_args()
    if words.grand is None and {"learn_more", "grand"} & set(words.shares):
        parser.error("these clips need --grand")
    words.out.mkdir(parents=True, exist_ok=True)
    library = read_corpus(words.out / "corpus.json", tunes=150, chorales=70, quartets=12)
    library["scores"] = read_scores(words.out / "scores.json")
    for share in words.shares:
        for number in range(words.part[0], COUNTS[share], words.part[1]):
            if not list(words.out.glob(f"{share}_{number:04d}_*.json")):
                render(number, share, words.out, library, words.grand)
        print(share, COUNTS[share], "clips in", words.out)


if __name__ == "__main__":
    main()
