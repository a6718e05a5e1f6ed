"""Benchmark of ear training.

``python -m tests.bench.ear answers [SEEDS] [KIND...]``: every kind of drill, voice and guitar, answered by
sounds of the tests' own synthesiser through the real ear: right answers, answers a semitone off, the right
notes an octave up and down, judged by the kind's rule.
``python -m tests.bench.ear staircase``: 200 simulated learners.
``python -m tests.bench.ear year``: 365 simulated days with 30 % missed.
"""

import math
import sys
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random

from coach.drills.context import DrillContext
from coach.drills.data import Drill
from coach.drills.grading import grade
from coach.drills.kinds import AnswerForm, By, Rule
from coach.drills.making import make_prompt
from coach.drills.prompt import Prompt
from coach.hearing.engines import PitchEngine, engine_named
from coach.practice.ear_piece import useful_skills
from coach.practice.ear_set import active_count, ear_set
from coach.practice.events import DrillAnswered
from coach.practice.schedule import apply
from coach.practice.schedule_state import ScheduleState
from coach.practice.skills import skills_of
from coach.practice.staircase import Staircase
from coach.sessions.ear.recorded import heard_answer
from tests.drill_answers import RATE_HZ, all_drills, audio_of, struck_at

TUNE = (71, 69, 67, 62, 64, 67, 64, 62, 67, 69, 71, 69)
"""The first section of the first bundled piece."""


def answered(prompt: Prompt, midis: list[int], engine: PitchEngine, rng: Random) -> bool:
    sound = audio_of(midis, prompt.by, rng)
    return grade(prompt, heard_answer(prompt, sound, RATE_HZ, a4_hz=440.0, engine=engine)).right


def octave_right(prompt: Prompt, octaves: int) -> bool:
    return {
        Rule.EXACT: octaves == 0,
        Rule.ANY_OCTAVE: True,
        Rule.OCTAVE_UP_OK: octaves in {0, 1},
    }[prompt.rule]


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


def answers(seeds: int, kinds: list[str]) -> None:
    engine = engine_named("auto")
    print(f"{'drill':<20}{'by':<8}{'right':>10}{'off: wrong':>12}{'octave':>10}")
    for drill in all_drills():
        if drill.kind.form in {AnswerForm.NAME, AnswerForm.PLACES} or (kinds and drill.name not in kinds):
            continue
        for by in By:
            print(f"{drill.name:<20}{by.value:<8}", *row(drill, by, seeds, engine), flush=True)


def row(drill: Drill, by: By, seeds: int, engine: PitchEngine) -> list[str]:
    seen: Counter[str] = Counter()
    for seed in range(seeds):
        rng = Random(f"{drill.name} {by} {seed}")
        level = 1 + seed % len(drill.levels)
        prompt = make_prompt(drill, level, Random(seed), DrillContext(melody=TUNE), by=by)
        case = notes_case if drill.kind.form is AnswerForm.NOTES else onsets_case
        case(prompt, engine, rng, seen)
    pairs = (("right", "right of"), ("semitone wrong", "semitone of"), ("octave by rule", "octave of"))
    return [f"{seen[a]:>6}/{seen[b]}" for a, b in pairs]


STAIRCASE_SLOPE = 1.5
"""Logistic slope a level; two percent of all answers are lapses. Stated, not measured on people."""
LAPSES = 0.02
JUDGED_TRIALS = 12
TARGET = 0.5 ** (1 / 3)


def answers_right(rng: Random, level: int, truth: float, slope: float = STAIRCASE_SLOPE) -> bool:
    """A simulated learner who answers 79.4 % right on the level ``truth``."""
    share = TARGET / (1 - LAPSES)
    threshold = truth + math.log(share / (1 - share)) / slope
    return rng.random() < (1 - LAPSES) / (1 + math.exp(-slope * (threshold - level)))


def settled_level(rng: Random, truth: int, start: int, trials: int = 30, levels: int = 8) -> float:
    """Mean level of the last twelve trials."""
    stairs, seen = Staircase(start), []
    for _ in range(trials):
        seen.append(stairs.level)
        right = answers_right(rng, stairs.level, truth)
        stairs = stairs.after(right=right, most=levels)
    return sum(seen[-JUDGED_TRIALS:]) / JUDGED_TRIALS


def staircase(learners: int = 200) -> float:
    """Share of learners whose staircase settles within one level of the truth, from three levels away."""
    settled = 0
    for number in range(learners):
        rng = Random(number)
        truth = rng.randint(1, 8)
        start = rng.choice([level for level in (truth - 3, truth + 3) if 1 <= level <= 8])
        settled += abs(settled_level(rng, truth, start) - truth) <= 1
    return settled / learners


@dataclass(frozen=True, slots=True)
class Year:
    """What a simulated year came to."""

    sets: int
    longest_s: float
    longest_wait_sets: int
    first_level_met_day: int | None
    most_active: int
    met: int
    mean_items: float
    right_share: float


def year(seed: int, *, minutes: float = 4.0, missed: float = 0.3, days: int = 365) -> Year:
    """Practise for a year by the real schedule; skills are learnt by practice and partly forgotten."""
    rng = Random(seed)
    skills = skills_of(all_drills())
    useful = useful_skills(skills, TUNE)
    ability = {skill.text: rng.uniform(0.5, 3.0) for skill in skills}
    state, waits = ScheduleState(), Counter[str]()
    sets, longest_s, longest_wait, met_day, most_active, items, rights = 0, 0.0, 0, None, 0, 0, 0
    first = {skill.text for skill in skills if skill.first}
    for day in range(days):
        now = START + timedelta(days=day, minutes=rng.uniform(-180, 180))
        if day > 0 and rng.random() < missed:
            continue
        todays = ear_set(state, skills, now=now, minutes=minutes, useful=useful)
        sets, longest_s = sets + 1, max(longest_s, todays.seconds)
        asked = {item.skill.text for item in todays.items}
        for text, card in state.cards.items():
            waits[text] = waits[text] + 1 if card.due <= now and text not in asked else 0
        longest_wait = max(longest_wait, *waits.values(), 0) if waits else longest_wait
        for item in todays.items:
            text = item.skill.text
            right = answers_right(rng, item.level, ability[text])
            ability[text] = min(ability[text] + 0.12, item.skill.levels + 1.0)
            word = rng.choice(("shaky", "sure", "sure", "instant")) if right else "missed"
            event = DrillAnswered(
                item.skill.key.drill, text, item.level, "voice", 0, right, float(right), None, None, word
            )
            state = apply(state, event, now)
            items, rights = items + 1, rights + right
        most_active = max(most_active, active_count(state))
        if met_day is None and first <= set(state.cards):
            met_day = day + 1
    return Year(
        sets, longest_s, longest_wait, met_day, most_active, len(state.cards), items / sets, rights / items
    )


START = datetime(2030, 1, 1, 18, tzinfo=UTC)


def main() -> None:
    words = sys.argv[1:]
    match words:
        case ["answers", *rest]:
            numbers = [int(word) for word in rest if word.isdecimal()]
            answers(numbers[0] if numbers else 50, [word for word in rest if not word.isdecimal()])
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
