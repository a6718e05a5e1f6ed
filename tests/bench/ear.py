"""Benchmark of ear training.

``python -m tests.bench.ear answers [[FIRST] END] [DRILL...]``: every kind of drill, voice and guitar, seeds
FIRST to END - 1, answered by sounds of the tests' own synthesiser through the real ear: right answers,
answers a semitone off, the right notes an octave up and down, judged by the kind's rule.
``python -m tests.bench.ear staircase``: 200 simulated learners.
``python -m tests.bench.ear year``: 365 simulated days with 30 % missed.
"""

import sys
from collections import Counter
from collections.abc import Callable
from random import Random

from coach.drills.context import DrillContext
from coach.drills.data import Drill
from coach.drills.grading import grade
from coach.drills.kinds import AnswerForm, By, Kind
from coach.drills.making import make_prompt
from coach.drills.prompt import Prompt
from coach.hearing.engines import PitchEngine, engine_named
from coach.sessions.ear.recorded import heard_answer
from tests.drill_answers import RATE_HZ, TUNE, all_drills, audio_of, octave_right, struck_at
from tests.ear_learners import LAPSES, STAIRCASE_SLOPE, staircase, year


def answered(prompt: Prompt, midis: list[int], engine: PitchEngine, rng: Random) -> bool:
    sound = audio_of(midis, prompt.by, rng)
    return grade(prompt, heard_answer(prompt, sound, RATE_HZ, a4_hz=440.0, engine=engine)).right


def notes_case(prompt: Prompt, engine: PitchEngine, rng: Random, seen: Counter[str]) -> None:
    expected = list(prompt.midis)
    seen["right"] += answered(prompt, expected, engine, rng)
    seen["right of"] += 1
    wrong = list(expected)
    wrong[rng.randrange(len(wrong))] += rng.choice((-1, 1))
    seen["semitone wrong"] += not answered(prompt, wrong, engine, rng)
    seen["semitone of"] += 1
    octaves = 1 if min(expected) < 52 else rng.choice((-1, 1))
    moved = [midi + 12 * octaves for midi in expected]
    seen["octave by rule"] += answered(prompt, moved, engine, rng) == octave_right(prompt, octaves)
    seen["octave of"] += 1


def onsets_case(prompt: Prompt, engine: PitchEngine, rng: Random, seen: Counter[str]) -> None:
    how = rng.choice(("clap", "tap", "pluck"))
    late_s = rng.uniform(0.0, 0.15)
    right = struck_at(prompt.onsets_s, how, rng, late_s=late_s)
    seen["right"] += grade(prompt, heard_answer(prompt, right, RATE_HZ, a4_hz=440.0, engine=engine)).right
    seen["right of"] += 1
    times = list(prompt.onsets_s)
    if rng.random() < 0.5 and len(times) > 2:
        del times[rng.randrange(1, len(times))]
    else:
        times[-1] += 0.3
    wrong = struck_at(times, how, rng, late_s=late_s)
    seen["semitone wrong"] += not grade(
        prompt, heard_answer(prompt, wrong, RATE_HZ, a4_hz=440.0, engine=engine)
    ).right
    seen["semitone of"] += 1


def said_case(prompt: Prompt, engine: PitchEngine, rng: Random, seen: Counter[str]) -> None:
    """Words answered by two notes that say the same, places by the note they hold."""
    sounding = list(prompt.sounding)
    seen["right"] += answered(prompt, sounding, engine, rng)
    seen["right of"] += 1
    wrong = [*sounding[:-1], sounding[-1] + rng.choice((-1, 1))]
    if prompt.kind in {Kind.SAME_HIGHER_LOWER, Kind.STEP_SKIP_REPEAT}:
        first, second = sounding
        wrong = [first, first + {0: 3, 1: 0, 2: 0}.get(abs(second - first), -2 if second > first else 0)]
    seen["semitone wrong"] += not answered(prompt, wrong, engine, rng)
    seen["semitone of"] += 1


def case_of(form: AnswerForm) -> Callable[[Prompt, PitchEngine, Random, Counter[str]], None]:
    return {
        AnswerForm.NOTES: notes_case,
        AnswerForm.ONSETS: onsets_case,
        AnswerForm.NAME: said_case,
        AnswerForm.PLACES: said_case,
    }[form]


def answers(seeds: range, kinds: list[str]) -> None:
    engine = engine_named("auto")
    print(f"{'drill':<20}{'by':<8}{'right':>10}{'off: wrong':>12}{'octave':>10}")
    for drill in all_drills():
        if kinds and drill.name not in kinds:
            continue
        for by in By:
            print(f"{drill.name:<20}{by.value:<8}", *row(drill, by, seeds, engine), flush=True)


def row(drill: Drill, by: By, seeds: range, engine: PitchEngine) -> list[str]:
    seen: Counter[str] = Counter()
    for seed in seeds:
        rng = Random(f"{drill.name} {by} {seed}")
        level = 1 + seed % len(drill.levels)
        prompt = make_prompt(drill, level, Random(seed), DrillContext(melody=TUNE), by=by)
        case_of(drill.kind.form)(prompt, engine, rng, seen)
    pairs = (("right", "right of"), ("semitone wrong", "semitone of"), ("octave by rule", "octave of"))
    return [f"{seen[a]:>6}/{seen[b]}" for a, b in pairs]


def main() -> None:
    words = sys.argv[1:]
    match words:
        case ["answers", *rest]:
            numbers = [int(word) for word in rest if word.isdecimal()]
            first, last = numbers if len(numbers) == 2 else (0, *(numbers or [50]))
            answers(range(first, last), [word for word in rest if not word.isdecimal()])
        case ["staircase"]:
            print(
                f"settled within a level: {staircase():.1%} of 200 (slope {STAIRCASE_SLOPE}, lapses {LAPSES})"
            )
        case ["year"]:
            for minutes in (3.0, 4.0, 5.0, 8.0, 12.0):
                for seed in range(3):
                    print(minutes, year(seed, minutes=minutes))
        case _:
            print(__doc__)


if __name__ == "__main__":
    main()
