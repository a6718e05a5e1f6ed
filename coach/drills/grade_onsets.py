"""Grading what is struck in time: rhythms echoed, changes tapped along."""

from collections.abc import Sequence
from statistics import median

from coach.drills.answers import HeardOnsets
from coach.drills.grade import Grade, graded
from coach.drills.kinds import Kind
from coach.drills.prompt import Prompt

_WEAK_SHARE = 0.35
"""Onsets so much weaker than the usual one are handling noise, unless they are needed."""
_TEMPO_DRIFT = 0.08
"""An echo may be so much quicker or slower as a whole. Common practice, no source."""
_EARLIEST_S, _LATEST_S = -0.1, 0.3
"""Tapping along may be early or late as a whole: reaction to a change takes some 0.2 s (from memory)."""


def grade_onsets(prompt: Prompt, answer: HeardOnsets, *, again: int = 0) -> Grade:
    """Grade struck moments.

    An echoed rhythm may begin whenever the player likes and drift in tempo a little: its pattern counts.
    Changes tapped along are judged in the prompt's own time, with one common delay allowed; given back
    afterwards they are an echo.
    """
    expected = prompt.onsets_s
    times = strong_onsets(answer, len(expected))
    along = prompt.kind is Kind.TAP_BASS_CHANGE and not answer.afterwards
    shifts = _delays(expected, times) if along else _starts(expected, times)
    best = 0
    for shift in shifts:
        for rate in (1.0,) if along else _rates(expected, times, shift):
            placed = [(at_s - expected[0] - shift) / rate + expected[0] for at_s in times]
            best = max(best, _matches(expected, placed, prompt.measure.onset_s))
    credit = best / max(len(expected), len(times), 1)
    answer_s = times[0] if times and not along else None
    return graded(credit, measure=prompt.measure, answer_s=answer_s, again=again)


def strong_onsets(answer: HeardOnsets, wanted: int) -> tuple[float, ...]:
    """The moments that count: where more were struck than wanted, the weak ones are left out."""
    if not answer.strengths or len(answer.times_s) <= wanted:
        return tuple(sorted(answer.times_s))
    usual = median(answer.strengths)
    ranked = sorted(zip(answer.strengths, answer.times_s, strict=True), reverse=True)
    return tuple(
        sorted(
            at_s
            for place, (strength, at_s) in enumerate(ranked)
            if place < wanted or strength >= _WEAK_SHARE * usual
        )
    )


def _starts(expected: Sequence[float], times: Sequence[float]) -> list[float]:
    """Shifts that lay some struck moment on some expected one, and the one that suits all together."""
    shifts = {at_s - one for at_s in times for one in expected}
    if times and len(times) == len(expected):
        shifts.add(median(at_s - one for at_s, one in zip(times, expected, strict=True)))
    return sorted(shifts)


def _delays(expected: Sequence[float], times: Sequence[float]) -> list[float]:
    """No delay, and all delays within the allowed ones that lay some struck moment on some expected one."""
    exact = [at_s - one for at_s in times for one in expected if _EARLIEST_S <= at_s - one <= _LATEST_S]
    return sorted({0.0, *exact})


def _rates(expected: Sequence[float], times: Sequence[float], shift: float) -> list[float]:
    """Tempo ratios worth trying for an echo: none, and the one that fits first and last."""
    rates = [1.0]
    if len(expected) > 1 and len(times) == len(expected):
        fitted = (times[-1] - times[0]) / (expected[-1] - expected[0])
        if abs(fitted - 1.0) <= _TEMPO_DRIFT and abs(times[0] - expected[0] - shift) < 1e-6:
            rates.append(fitted)
    return rates


def _matches(expected: Sequence[float], placed: Sequence[float], tolerance_s: float) -> int:
    """How many expected moments find a struck one of their own, in order, within the tolerance."""
    found, index = 0, 0
    for one in expected:
        while index < len(placed) and placed[index] < one - tolerance_s:
            index += 1
        if index < len(placed) and placed[index] <= one + tolerance_s:
            found += 1
            index += 1
    return found
