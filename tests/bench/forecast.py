"""How well the forecast tells the day of the finish, and what its proposals do: on simulated learners.

Usage: python -m tests.bench.forecast [LEARNERS [SEED]]

1. Each learner (`tests.learners`: hidden pace, weekday habits, breaks, drop-outs) works a piece through. On
   some evenings drawn by chance, and on the evening on which a quarter is done, the forecast is made from
   the log up to then and compared with the day on which this learner really finished. Coverage is the share
   of true days in p10..p90 (nominal 80 %); the error of p50 is relative to the days that really remained.
   “Best” is the error of a forecaster who knows how all these learners are made and has only the log
   (`tests.bench.forecast_best`; while a stage is left), “chance” of one who knows this learner's true pace,
   days and minutes, and lacks only what is to come.
2. An aim is set when section A is done: the p50 of that evening, times 0.7 to 1.1 of the days until then.
   Each seventh session the outlook is read; while it is off track the learner accepts the first proposal that
   would meet the aim (else the first) with a fixed chance. Counted: who finishes by the aim.
"""

import statistics
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from coach.practice.events import AimSet, LoggedEvent, SmallerAccepted
from coach.practice.fold import fold, fold_all
from coach.practice.forecast import forecast
from coach.practice.piece_state import Cell, PieceState
from coach.practice.progress import Progress
from coach.practice.proposals import outlook
from coach.practice.settings import Settings
from coach.practice.stages import SECTION_STAGES, Stage
from tests.bench.forecast_best import fitting_learners
from tests.learners import LAST_DAY, Learner, whole_log

MOMENTS = 4
KNOWN_RUNS = 40
BEST_RUNS = 300


@dataclass
class Seen:
    """One forecast and what became of it."""

    done: float
    at_quarter: bool
    inside: bool
    early: bool
    error: float
    best: float | None = None
    chance: float | None = None


def follow(
    learner: Learner, rng: Random, moments: int = MOMENTS, *, compare: bool = False
) -> list[Seen] | None:
    """Forecasts on some evenings of one learner's way; ``None`` for one who never finishes."""
    days = list(whole_log(learner, rng))
    whole = fold_all(entry for day in days for entry in day)
    if not whole.finished:
        return None
    end, total = days[-1][0].at.date(), whole.pieces["p"].seconds
    chosen = set(rng.sample(range(len(days) - 1), min(moments, len(days) - 1)))
    seen, at, quarter = [], Progress(), False
    for index, day in enumerate(days[:-1]):
        at = fold_all(day, at)
        piece, today = at.pieces["p"], day[0].at.date()
        done = piece.seconds / total
        reached = not quarter and done >= 0.25
        quarter = quarter or reached
        if index not in chosen and not reached:
            continue
        told = forecast(at, learner.says, today, Random(rng.random()))
        assert told is not None
        remaining = (end - today).days
        error = abs((told.p50 - end).days) / remaining
        one = Seen(done, reached, told.p10 <= end <= told.p90, end < told.p10, error)
        if compare:
            past = [entry for earlier in days[: index + 1] for entry in earlier]
            one.best, one.chance = compared(learner, past, piece, (today, end), rng)
        seen.append(one)
    return seen


def compared(
    learner: Learner, past: list[LoggedEvent], piece: PieceState, span: tuple[date, date], rng: Random
) -> tuple[float | None, float]:
    """Errors of the one who knows all learners, and of the one who knows this learner."""
    today, remaining = span[0], (span[1] - span[0]).days
    known = statistics.median(days_left(learner, piece, today, rng) for _ in range(KNOWN_RUNS))
    best = None
    if not piece.all_good_enough:
        fitting = fitting_learners(learner, past, piece, today, rng, BEST_RUNS)
        told = statistics.median_low([days_left(each, piece, today, rng) for each in fitting])
        best = abs(told - remaining) / remaining
    return best, abs(known - remaining) / remaining


def days_left(learner: Learner, piece: PieceState, today: date, rng: Random) -> int:
    """Days until the end, as this learner might go on."""
    minutes = sum(known_minutes(learner, piece, rng))
    fresh = replace(learner, start=today + timedelta(days=1), stops_on=None)
    for day, spent in fresh.sessions(rng):
        minutes -= spent
        if minutes <= 0:
            return (day - today).days
    return LAST_DAY


def known_minutes(learner: Learner, piece: PieceState, rng: Random) -> list[float]:
    """Minutes of what is left, drawn from the learner's own true pace."""
    ending = (12 + 4 * len(piece.sections)) * learner.pace[Stage.PLAYED] * rng.uniform(0.6, 1.4)
    left = [max(1.0, ending - piece.ending_s / 60)]
    if piece.key is None:
        left.append(6 * learner.pace[Stage.MELODY] * rng.uniform(0.5, 1.5))
    for place, section in enumerate(piece.sections):
        for stage in SECTION_STAGES:
            if section.cell(stage) is Cell.SETTLED:
                continue
            spent = section.seconds.get(stage, 0.0) / 60
            tries = [learner.needed(stage, place, rng) for _ in range(20 if spent else 1)]
            longer = [minutes for minutes in tries if minutes > spent]
            left.append((longer[0] if longer else 1.1 * spent) - spent)
    return left


def row(name: str, seen: list[Seen]) -> None:
    inside = statistics.mean(each.inside for each in seen)
    early = statistics.mean(each.early for each in seen)
    errors = ([each.error for each in seen], [each.best for each in seen], [each.chance for each in seen])
    print(f"{name:<26} {len(seen):>6}   {inside:6.1%}  {early:6.1%}  {'  '.join(map(middle, errors))}")


def middle(errors: Sequence[float | None]) -> str:
    """Their median, as far as there are any."""
    known = [error for error in errors if error is not None]
    return f"{statistics.median(known):6.1%}" if known else "     -"


def coverage(count: int, seed: int, *, restless: bool) -> None:
    found, quitters = [], 0
    for number in range(count):
        rng = Random(seed * 1_000_003 + number)
        seen = follow(Learner.drawn(rng, restless=restless), rng, compare=not restless)
        quitters += seen is None
        found += seen or []
    kind = "restless" if restless else "usual"
    print(f"\n{count} simulated {kind} learners, {quitters} never finish")
    print("share done              forecasts   inside    early   error    best  chance")
    row("all", found)
    row("the evening at a quarter", [each for each in found if each.at_quarter])
    row("a quarter and more", [each for each in found if each.done >= 0.25])
    for low in (0.0, 0.25, 0.5, 0.75):
        row(f"{low:.0%} to {low + 0.25:.0%}", [each for each in found if low <= each.done < low + 0.25])


def meets_aim(number: int, seed: int, chance: float) -> bool | None:
    """Whether one learner finishes by the aim; ``None`` for one who never sets one."""
    rng, choices = Random(seed * 1_000_003 + number), Random(number)
    learner = Learner.drawn(rng)
    log = whole_log(learner, rng)
    progress, aim, answer, sessions = Progress(), None, None, 0
    while True:
        try:
            day = log.send(answer)
        except StopIteration:
            break
        answer = None
        progress = fold_all(day, progress)
        today, sessions = day[0].at.date(), sessions + 1
        piece = progress.piece
        if piece is None:
            continue
        if aim is None and piece.sections[0].good_enough:
            told = forecast(progress, learner.says, today, Random(number))
            assert told is not None
            aim = today + timedelta(days=round((told.p50 - today).days * choices.uniform(0.7, 1.1)))
            progress = fold(progress, LoggedEvent(progress.seq, day[0].at, AimSet("p", aim)))
        elif aim is not None and chance and sessions % 7 == 0:
            answer = chosen_proposal(progress, learner.says, today, aim, chance, choices)
    if aim is None:
        return None
    finished = progress.pieces["p"].finished_on
    return finished is not None and finished <= aim


def chosen_proposal(
    progress: Progress, says: Settings, today: date, aim: date, chance: float, choices: Random
) -> SmallerAccepted | None:
    view = outlook(progress, says, today)
    if not view.proposals or choices.random() >= chance:
        return None
    enough = [offer for offer in view.proposals if offer.day <= aim]
    return (enough or list(view.proposals))[0].accepted("p")


def aims(count: int, seed: int) -> None:
    print(
        f"\nThe aim is met, {count} simulated usual learners (a simulation: it shows the model, not people)"
    )
    for name, chance in (("never", 0.0), ("20 %", 0.2), ("50 %", 0.5), ("80 %", 0.8)):
        answers = Counter(meets_aim(number, seed, chance) for number in range(count))
        known = answers[True] + answers[False]
        print(f"proposals accepted: {name:<8} {answers[True] / known:6.1%} of {known}")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    began = time.perf_counter()
    coverage(count, seed, restless=False)
    coverage(count // 2, seed, restless=True)
    aims(count // 2, seed)
    print(f"\n{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
