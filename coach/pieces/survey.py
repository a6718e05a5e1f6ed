"""First-listen advice: whether a recording suits a first arrangement, in words with reasons.

The rules of thumb are common practice among teachers of fingerstyle guitar, without a published source: a
moderate tempo, few instruments, a clear tune, a clear bass or clear chords. Their limits are ours. The advice
is about the work it will be, never about taste, and the player decides.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

SLOW_BPM, MODERATE_BPM, FAST_BPM, VERY_FAST_BPM = 50.0, 112.0, 132.0, 160.0
"""Very slow below the first, moderate up to the second, fast and very fast above the others."""
CALM_NOTES_PER_S, BUSY_NOTES_PER_S, CROWDED_NOTES_PER_S = 3.0, 4.5, 6.5
"""Moments at which something begins, a second."""
FEW_VOICES, MANY_VOICES = 3.6, 5.5
"""Pitches that sound at once, in the mean."""
CLEAR, UNCLEAR = 0.78, 0.5
"""Share of a line in which one note stands out, over a recording."""
MOST_CHECKED, FEW_CHECKED = 0.6, 0.3
"""Share of the notes about which a question would be answered."""
MOST_REASONS = 3


class Advice(StrEnum):
    """What the app advises."""

    GOOD = "good first piece"
    POSSIBLE = "possible"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class SurveyFacts:
    """What a first listen has measured.

    Parameters
    ----------
    tempo_bpm
        Quarter notes a minute.
    notes_per_s
        Moments at which something begins, a second.
    voices
        Mean number of pitches that sound at once.
    melody_clarity, bass_clarity
        0 to 1, how far the line stands out; ``None`` where it was not measured.
    checkable_share
        0 to 1, the share of its notes about which a question would be answered; ``None`` as above.
    """

    tempo_bpm: float
    notes_per_s: float
    voices: float
    melody_clarity: float | None
    bass_clarity: float | None
    checkable_share: float | None


@dataclass(frozen=True, slots=True)
class FirstAdvice:
    """The advice and the two or three reasons that decided it."""

    advice: Advice
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Finding:
    """One rule's answer: points from -2 (much against) to 1 (for it), weight among equals, a sentence."""

    points: int
    weight: int
    sentence: str


def advise(facts: SurveyFacts) -> FirstAdvice:
    """Advise on a recording.

    *Later* where one thing speaks much against it and another somewhat, or four somewhat; *good first piece*
    where nothing speaks much against it and at most one thing somewhat; else *possible*.
    """
    findings = [finding for rule in _RULES if (finding := rule(facts)) is not None]
    much = sum(finding.points == -2 for finding in findings)
    somewhat = sum(finding.points == -1 for finding in findings)
    if much >= 2 or (much and somewhat >= 2) or somewhat >= 4:
        advice = Advice.LATER
    elif much == 0 and somewhat <= 1:
        advice = Advice.GOOD
    else:
        advice = Advice.POSSIBLE
    return FirstAdvice(advice, _reasons(findings, advice))


def _reasons(findings: list[_Finding], advice: Advice) -> tuple[str, ...]:
    """Those that speak most in the direction of the advice, then the strongest that does not."""
    sign = 1 if advice is Advice.GOOD else -1
    for_it = sorted((f for f in findings if f.points * sign > 0), key=lambda f: (-abs(f.points), -f.weight))
    against = sorted((f for f in findings if f.points * sign < 0), key=lambda f: (-abs(f.points), -f.weight))
    # One reason on the other side is always told where there is one: the advice is a weighing, not a verdict.
    chosen = [*for_it[: MOST_REASONS - bool(against)], *against[:1]]
    return tuple(finding.sentence for finding in chosen)


def _tempo(facts: SurveyFacts) -> _Finding | None:
    tempo = f"about {facts.tempo_bpm:.0f} beats a minute"
    if facts.tempo_bpm > VERY_FAST_BPM:
        return _Finding(-2, 2, f"It is very fast: {tempo}.")
    if facts.tempo_bpm > FAST_BPM:
        return _Finding(-1, 2, f"It is fast: {tempo}.")
    if facts.tempo_bpm < SLOW_BPM:
        return _Finding(-1, 0, f"It is very slow, and the beat is harder to keep: {tempo}.")
    if facts.tempo_bpm <= MODERATE_BPM:
        return _Finding(1, 1, f"Its tempo is moderate: {tempo}.")
    return None


def _density(facts: SurveyFacts) -> _Finding | None:
    count = f"about {facts.notes_per_s:.1f} a second"
    if facts.notes_per_s > CROWDED_NOTES_PER_S:
        return _Finding(-2, 3, f"The notes come very quickly: {count}.")
    if facts.notes_per_s > BUSY_NOTES_PER_S:
        return _Finding(-1, 3, f"The notes come quickly: {count}.")
    if facts.notes_per_s <= CALM_NOTES_PER_S:
        return _Finding(1, 2, f"The notes come slowly enough to find them one by one: {count}.")
    return None


def _voices(facts: SurveyFacts) -> _Finding | None:
    if facts.voices > MANY_VOICES:
        return _Finding(-1, 1, f"Much sounds at once: about {facts.voices:.0f} notes.")
    if facts.voices <= FEW_VOICES:
        return _Finding(1, 1, f"Little sounds at once: about {facts.voices:.0f} notes.")
    return None


def _melody(facts: SurveyFacts) -> _Finding | None:
    return _clarity(facts.melody_clarity, 5, "tune", much=-2)


def _bass(facts: SurveyFacts) -> _Finding | None:
    return _clarity(facts.bass_clarity, 3, "bass", much=-1)


def _clarity(clarity: float | None, weight: int, line: str, *, much: int) -> _Finding | None:
    if clarity is None:
        return None
    if clarity >= CLEAR:
        return _Finding(1, weight, f"The {line} stands out clearly.")
    if clarity < UNCLEAR:
        return _Finding(much, weight, f"The {line} is hard to make out.")
    return None


def _checkable(facts: SurveyFacts) -> _Finding | None:
    share = facts.checkable_share
    if share is None:
        return None
    if share >= MOST_CHECKED:
        return _Finding(1, 4, f"The app can check most of its notes for you: about {_tenths(share)} in 10.")
    if share < FEW_CHECKED:
        return _Finding(-1, 4, f"The app can check few of its notes: about {_tenths(share)} in 10.")
    return None


def _tenths(share: float) -> int:
    return round(10 * share)


_RULES: tuple[Callable[[SurveyFacts], _Finding | None], ...] = (
    _tempo,
    _density,
    _voices,
    _melody,
    _bass,
    _checkable,
)
