"""Ear answers of foreign making: ``python -m tests.bench.ear_outside [--seeds 0 50] [--drills NAME...]``.

Every kind of drill, voice and guitar, answered by sounds that come neither from the program nor from the
tests' own synthesiser: notes of the FluidR3 soundfont (fluidsynth), plain additive tones, the plucked string
of Karplus and Strong (“Digital Synthesis of Plucked-String and Drum Timbres”, Computer Music Journal 7(2),
1983), partials under formants for the voice; at other tempi and gaps, from the very start or after a pause,
loud and soft, at 16 to 48 kHz. Right answers, and answers that are wrong in one way each: a semitone off, an
octave off, out of order, one note too few, out of tune. ``--list`` tells each failure in full.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from coach.drills.answers import GivenName, GivenPlaces
from coach.drills.data import Drill
from coach.drills.grade import Grade
from coach.drills.grading import grade
from coach.drills.kinds import AnswerForm, By, Kind
from coach.drills.making import make_prompt
from coach.drills.prompt import ExpectedName, ExpectedPlace, Prompt
from coach.hearing.engines import PitchEngine, engine_named
from coach.notation.note import Place
from coach.practice.settings import Settings
from coach.sessions.ear.library import bundled_melody, context_of
from coach.sessions.ear.recorded import heard_answer
from coach.store.folders import DataFolder
from tests.drill_answers import all_drills, octave_right
from tests.soundfont import NYLON, STEEL, recorded

Audio = NDArray[np.float64]
OOHS = 53
"""General MIDI level 1: voice oohs, counted from 0."""


@dataclass(frozen=True)
class Played:
    """How one answer is given."""

    sound: str
    note_s: float
    gap_s: float
    lead_s: float
    peak: float
    rate_hz: int
    cents: float = 0.0


GUITARS = ("nylon", "steel", "additive", "karplus")
VOICES = ("oohs", "vowel", "straight", "hum")
STRIKES = ("burst", "thump", "nylon", "click", "additive")


def played(by: By, rng: Random, *, struck: bool = False) -> Played:
    sounds = STRIKES if struck else (VOICES if by is By.VOICE else GUITARS)
    return Played(
        sound=rng.choice(sounds),
        note_s=rng.uniform(0.4, 0.8),
        gap_s=rng.choice((0.0, 0.03, 0.1, 0.2)),
        lead_s=rng.choice((0.0, 0.0, 0.1, 0.3, 0.8, 2.0)),
        peak=rng.choice((0.7, 0.4, 0.15, 0.06)),
        rate_hz=rng.choice((48_000, 44_100, 22_050, 16_000)),
    )


def notes_sound(midis: Sequence[int], how: Played, rng: Random) -> NDArray[np.float32]:
    """The notes one after another."""
    step_s = how.note_s + how.gap_s
    starts = [how.lead_s + index * step_s for index in range(len(midis))]
    if how.sound in {"nylon", "steel", "oohs"}:
        program = {"nylon": NYLON, "steel": STEEL, "oohs": OOHS}[how.sound]
        rows = [(midi, at_s, at_s + how.note_s) for midi, at_s in zip(midis, starts, strict=True)]
        sound = np.asarray(recorded(rows, how.rate_hz, program=program), np.float64)
        sound = sound[: int((starts[-1] + how.note_s + 0.5) * how.rate_hz)]
    else:
        sound = np.zeros(int((starts[-1] + how.note_s + 0.5) * how.rate_hz))
        for midi, at_s in zip(midis, starts, strict=True):
            note = tone(how.sound, hz_of(midi, how.cents), how.note_s, how.rate_hz, rng)
            begin = int(at_s * how.rate_hz)
            sound[begin : begin + len(note)] += note[: len(sound) - begin]
    return levelled(sound, how, rng)


def hz_of(midi: float, cents: float = 0.0) -> float:
    return float(440.0 * 2 ** ((midi - 69 + cents / 100) / 12))


def levelled(sound: Audio, how: Played, rng: Random) -> NDArray[np.float32]:
    """To its peak, with a room's noise 56 dB below."""
    noise = np.random.default_rng(rng.getrandbits(32)).standard_normal(len(sound))
    scaled = sound * how.peak / max(1e-9, float(np.max(np.abs(sound)))) + how.peak * 10 ** (-56 / 20) * noise
    return scaled.astype(np.float32)


def tone(sound: str, hz: float, length_s: float, rate_hz: int, rng: Random) -> Audio:
    """One note of a computed sound."""
    t = np.arange(int(length_s * rate_hz)) / rate_hz
    fade = np.minimum(1.0, np.minimum(t / 0.006, (length_s - t) / 0.02).clip(0.0))
    most = max(1, int(min(0.45 * rate_hz, 7_000.0) / hz))
    match sound:
        case "additive":
            each = [
                np.sin(2 * np.pi * hz * h * t) / h * np.exp(-t * (1.5 + 0.6 * h))
                for h in range(1, min(12, most) + 1)
            ]
            return np.asarray(sum(each) * fade)
        case "karplus":
            return karplus(hz, t, rate_hz, rng) * fade
        case "straight":
            return np.asarray(
                sum(np.sin(2 * np.pi * hz * h * t) / h for h in range(1, min(15, most) + 1))
                * soft(t, length_s)
            )
        case "hum":
            each = [np.sin(2 * np.pi * hz * h * t) * 0.4 ** (h - 1) for h in range(1, min(4, most) + 1)]
            return np.asarray(sum(each) * soft(t, length_s))
        case _:
            return vowel(hz, t, length_s, most, rng) * soft(t, length_s)


def soft(t: Audio, length_s: float) -> Audio:
    return np.minimum(1.0, np.minimum(t / 0.04, (length_s - t) / 0.06).clip(0.0))


def karplus(hz: float, t: Audio, rate_hz: int, rng: Random) -> Audio:
    """A noise burst through a comb of the note's period with a two-point mean, tuned by interpolation."""
    period = rate_hz / hz - 0.5
    whole = int(period)
    part = period - whole
    noise = np.random.default_rng(rng.getrandbits(32))
    line = np.convolve(noise.uniform(-1, 1, whole + 2), np.ones(5) / 5, "same")
    out = np.zeros(len(t) + whole + 2)
    out[: whole + 2] = line
    for index in range(whole + 2, len(out)):
        late = (1 - part) * out[index - whole] + part * out[index - whole - 1]
        later = (1 - part) * out[index - whole - 1] + part * out[index - whole - 2]
        out[index] = 0.996 * 0.5 * (late + later)
    return out[: len(t)]


def vowel(hz: float, t: Audio, length_s: float, most: int, rng: Random) -> Audio:
    """Partials under three formants of “ah”, with vibrato that grows, slid into."""
    depth, slide = rng.uniform(0, 40), rng.uniform(-70, 20)
    cents = depth * np.minimum(1.0, t / 0.3) * np.sin(2 * np.pi * 5.6 * t) + slide * np.exp(-t / 0.04)
    phase = 2 * np.pi * np.cumsum(hz * 2 ** (cents / 1200)) * (t[1] - t[0])
    formants = ((730.0, 90.0, 1.0), (1090.0, 110.0, 0.5), (2440.0, 170.0, 0.2))
    out = np.zeros(len(t))
    for h in range(1, min(40, most) + 1):
        gain = sum(height / (1 + ((hz * h - at) / width) ** 2) for at, width, height in formants) + 0.05
        out += gain / h**0.5 * np.sin(phase * h)
    return out


def struck_sound(times_s: Sequence[float], how: Played, rng: Random) -> NDArray[np.float32]:
    """Claps, thumps on the body, plucks, clicks at given moments."""
    rate_hz = how.rate_hz
    if how.sound == "nylon":
        ends = [min(at_s + 0.5, after - 0.02) for at_s, after in pairwise([*times_s, 1e9])]
        rows = [(57, at_s, end_s) for at_s, end_s in zip(times_s, ends, strict=True)]
        plucks = np.asarray(recorded(rows, rate_hz), np.float64)
        return levelled(plucks[: int((times_s[-1] + 1.2) * rate_hz)], how, rng)
    sound = np.zeros(int((times_s[-1] + 1.2) * rate_hz))
    noise = np.random.default_rng(rng.getrandbits(32))
    t = np.arange(int(0.3 * rate_hz)) / rate_hz
    for at_s in times_s:
        hit = {
            "burst": lambda: noise.standard_normal(len(t)) * np.exp(-t / 0.015),
            "thump": lambda: np.sin(2 * np.pi * 110 * t) * np.exp(-t / 0.04) * np.minimum(1, t / 0.002),
            "click": lambda: noise.standard_normal(len(t)) * (t < 0.002),
            "additive": lambda: tone("additive", 196.0, 0.3, rate_hz, rng),
        }[how.sound]()
        begin = int(at_s * rate_hz)
        sound[begin : begin + len(hit)] += hit[: len(sound) - begin]
    return levelled(sound, how, rng)


Case = tuple[str, bool, NDArray[np.float32], Played]


def note_cases(prompt: Prompt, rng: Random) -> Iterator[Case]:
    right = list(prompt.midis)

    def case(name: str, wanted: bool, midis: Sequence[int], cents: float = 0.0) -> Case:  # noqa: FBT001
        how = played(prompt.by, rng)
        if cents:
            how = replace(how, sound=rng.choice(("straight", "hum")), cents=cents)
        return name, wanted, notes_sound(midis, how, rng), how

    yield case("right", True, right)
    yield case("right", True, right)
    one = list(right)
    one[rng.randrange(len(one))] += rng.choice((-1, 1))
    yield case("semitone", False, one)
    move = rng.choice((-1, 1))
    yield case("semitone", False, [midi + move for midi in right])
    for octaves in (1, -1):
        if all(33 <= midi + 12 * octaves <= 88 for midi in right):
            yield case(
                f"octave {octaves:+d}", octave_right(prompt, octaves), [midi + 12 * octaves for midi in right]
            )
    if len(right) > 1:
        yield case("too few", False, right[:-1])
        if any(a != b for a, b in pairwise(right)) and right[::-1] != right:
            folded = [midi % 12 for midi in right]
            if folded[::-1] != folded:
                yield case("backwards", False, right[::-1])
    if prompt.by is By.VOICE:
        limit = prompt.measure.cents
        way = rng.choice((-1, 1))
        yield case("in tune", True, right, way * (limit - 12))
        if limit < 50:
            yield case("out of tune", False, right, way * (limit + 12))


def onset_cases(prompt: Prompt, rng: Random) -> Iterator[Case]:
    beat_s = 60.0 / 120.0

    def case(name: str, wanted: bool, times: Sequence[float], jitter_s: float, late_s: float) -> Case:  # noqa: FBT001
        how = played(prompt.by, rng, struck=True)
        placed = sorted(max(0.0, at_s + late_s + rng.uniform(-jitter_s, jitter_s)) for at_s in times)
        return name, wanted, struck_sound(placed, how, rng), how

    right = list(prompt.onsets_s)
    echo = prompt.kind is Kind.RHYTHM_ECHO
    yield case("right", True, right, 0.0, 0.0)
    yield case("right", True, right, 0.02, 0.0)
    late_s = rng.uniform(0.0, 3.0) if echo else rng.uniform(0.0, 0.2)
    yield case("right", True, right, 0.02, late_s)
    if echo:
        yield case("right", True, right, 0.01, -right[0])
    moved = list(right)
    at = rng.randrange(1, len(right)) if echo else rng.randrange(len(right))
    moved[at] += rng.choice((-1, 1)) * (0.5 * beat_s if not echo else max(0.25, 2.2 * prompt.measure.onset_s))
    if not echo:
        moved[at] = right[at] + 0.6
    yield case("semitone", False, sorted(moved), 0.01, 0.1)
    yield (
        case("too few", False, right[:-1] if len(right) > 1 else [], 0.01, 0.0)
        if len(right) > 1
        else case("right", True, right, 0.01, 0.0)
    )
    gaps = sorted((b - a, a) for a, b in pairwise(right))
    if gaps:
        yield case("too many", False, sorted([*right, gaps[-1][1] + gaps[-1][0] / 2]), 0.01, 0.0)


def said_cases(prompt: Prompt, rng: Random) -> Iterator[Case]:
    sounding = list(prompt.sounding)

    def case(name: str, wanted: bool, midis: Sequence[int]) -> Case:  # noqa: FBT001
        how = played(prompt.by, rng)
        return name, wanted, notes_sound(midis, how, rng), how

    yield case("right", True, sounding)
    if prompt.kind.form is AnswerForm.PLACES:
        yield case("semitone", False, [sounding[0] + rng.choice((-1, 1))])
        return
    first, second = sounding
    if prompt.kind is Kind.NAME_INTERVAL:
        yield case("semitone", False, [first, second + rng.choice((-1, 1))])
        return
    move = second - first
    wrong = {0: 4, 1: 0, 2: 0}.get(abs(move), 0 if prompt.kind is Kind.STEP_SKIP_REPEAT else -move)
    yield case("semitone", False, [first, first + wrong])


def typed(prompt: Prompt) -> Iterator[tuple[str, bool, Grade]]:
    """The same by finger."""
    if prompt.kind.form is AnswerForm.NAME:
        name = next(one.name for one in prompt.expected if isinstance(one, ExpectedName))
        for choice in prompt.choices:
            yield "typed", choice == name, grade(prompt, GivenName(choice))
    if prompt.kind.form is AnswerForm.PLACES:
        places = tuple(
            Place(one.string, one.fret) for one in prompt.expected if isinstance(one, ExpectedPlace)
        )
        yield "typed", True, grade(prompt, GivenPlaces(places))
        yield (
            "typed",
            False,
            grade(prompt, GivenPlaces((*places[:-1], Place(places[-1].string, places[-1].fret + 1)))),
        )


CASES: dict[AnswerForm, Callable[[Prompt, Random], Iterator[Case]]] = {
    AnswerForm.NOTES: note_cases,
    AnswerForm.ONSETS: onset_cases,
    AnswerForm.NAME: said_cases,
    AnswerForm.PLACES: said_cases,
}


def one(
    drill: Drill, by: By, seed: int, engine: PitchEngine, melody: tuple[int, ...]
) -> Iterator[tuple[str, bool, str]]:
    """Every case of one prompt: its name, whether it was graded as it should, and what to say of it."""
    rng = Random(f"outside {drill.name} {by} {seed}")
    level = 1 + seed % len(drill.levels)
    prompt = make_prompt(drill, level, Random(seed), context_of(Settings(), melody=melody), by=by)
    for name, wanted, result in typed(prompt):
        yield name, result.right == wanted, "typed"
    for name, wanted, sound, how in CASES[prompt.kind.form](prompt, rng):
        answer = heard_answer(prompt, sound, how.rate_hz, a4_hz=440.0, engine=engine)
        result = grade(prompt, answer)
        expected = prompt.midis or prompt.onsets_s or prompt.sounding
        asked = f"{drill.name} --seed {seed} --by {by.value} --level {level} {name} want={wanted}"
        yield name, result.right == wanted, f"{asked} {how} expected={expected} heard={short(answer)}"


def short(answer: object) -> str:
    notes = getattr(answer, "notes", None)
    if notes is not None:
        return str(
            [
                (
                    n.midi,
                    round(n.cents),
                    round(n.span.start_s, 2),
                    round(n.span.end_s, 2),
                    round(n.confidence, 2),
                )
                for n in notes
            ]
        )
    return str([round(at_s, 3) for at_s in getattr(answer, "times_s", ())])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, nargs=2, default=(0, 50))
    parser.add_argument("--drills", nargs="*", default=[])
    parser.add_argument("--list", action="store_true", help="each failure in full, to standard error")
    args = parser.parse_args()
    engine = engine_named("auto")
    folder = Path(__file__).parents[2] / "exercises"
    melody = bundled_melody(DataFolder(folder))
    for drill in all_drills():
        if args.drills and drill.name not in args.drills:
            continue
        for by in By:
            fine, count = Counter[str](), Counter[str]()
            for seed in range(*args.seeds):
                for name, good, said in one(drill, by, seed, engine, melody):
                    count[name] += 1
                    fine[name] += good
                    if not good and args.list:
                        print(said, file=sys.stderr, flush=True)
            cells = "  ".join(f"{name} {fine[name]}/{count[name]}" for name in count)
            print(f"{drill.name:<20}{by.value:<8}{cells}", flush=True)


if __name__ == "__main__":
    main()
