"""Is that it? The answer to a player's question about one note, which never tells another one."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import assert_never

from coach.hearing.evidence import PitchEvidence
from coach.music.span import Span
from coach.notation.line import LineKind

MOST_REGISTER_OCTAVES = 3
"""A line is moved by at most so many octaves into the guitar's register."""

LOWEST_SOUND = 23
"""B0, the lowest string of a five-string bass: no line of a simple piece goes below. Common practice."""


class Outcome(StrEnum):
    """What a check says; the values are the words of the command line."""

    HEARD = "heard"
    OTHER_OCTAVE = "other_octave"
    NOT_HEARD = "not_heard"
    CANNOT_TELL = "cannot_tell"


class Nearby(StrEnum):
    """Where the asked pitch is right instead, close by in time."""

    EARLIER = "earlier"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class Verdict:
    """An answer. It holds no pitch but the one that was asked about, so it cannot give the note away.

    Parameters
    ----------
    line, span
        What was asked about.
    midi
        The pitch that was asked, as the player named it.
    outcome
        The answer.
    nearby
        For *not heard*: whether the pitch is right a little earlier or later.
    confidence
        0 to 1: how likely the answer is right; for *cannot tell* how likely the best other answer would be.
    exact
        Whether it comes from a teacher's written line, not from sound.
    """

    line: LineKind
    span: Span
    midi: int
    outcome: Outcome
    nearby: Nearby | None
    confidence: float
    exact: bool = False

    @property
    def sentence(self) -> str:
        """The answer in words; an exact one says where it comes from."""
        said = self._by_ear
        return f"{said[:-1]}, by your teacher's line." if self.exact else said

    @property
    def _by_ear(self) -> str:
        match self.outcome:
            case Outcome.HEARD:
                return "Heard: that is it."
            case Outcome.OTHER_OCTAVE:
                return "Right note, 12 frets off."
            case Outcome.NOT_HEARD:
                return _NOT_HEARD[self.nearby]
            case Outcome.CANNOT_TELL:
                return "The line rests there." if self.exact else "This recording does not tell."
            case _ as never:
                assert_never(never)


_NOT_HEARD = {
    None: "Not heard there.",
    Nearby.EARLIER: "Not heard there: it sounds a little earlier.",
    Nearby.LATER: "Not heard there: it sounds a little later.",
}


@dataclass(frozen=True, slots=True)
class ReferenceNote:
    """A note of a teacher's line, in seconds of the recording."""

    span: Span
    midi: int


def judge(evidence: PitchEvidence, midi: int, *, register_octaves: int = 0) -> Verdict:
    """Answer whether ``midi`` is the line's pitch in the span of the evidence.

    Parameters
    ----------
    midi
        0 to 127, as the player plays it.
    register_octaves
        How many octaves above the recording the whole line is played: 1 for a bass put an octave up. The
        pitch looked for in the recording is that much lower.

    Raises
    ------
    ValueError
        For a pitch outside MIDI, or a register further than three octaves.
    """
    _check(midi)
    if abs(register_octaves) > MOST_REGISTER_OCTAVES:
        raise ValueError(f"a line is moved by at most three octaves, not {register_octaves}")
    sought = midi - 12 * register_octaves
    same = evidence.of(sought)
    octaves = sum(
        evidence.of(other)
        for other in range(sought % 12, 128, 12)
        if other != sought and evidence.lowest_midi <= other <= evidence.highest_midi
    )
    outcome, confidence = _outcome(evidence, same, octaves)
    if LOWEST_SOUND <= sought < evidence.lowest_midi or sought > evidence.highest_midi:
        outcome, confidence = _beyond(evidence, outcome, confidence)
    nearby = _nearby(evidence, sought) if outcome is Outcome.NOT_HEARD else None
    return Verdict(evidence.line, evidence.span, midi, outcome, nearby, confidence)


def judge_by_reference(line: LineKind, span: Span, reference: Sequence[ReferenceNote], midi: int) -> Verdict:
    """The exact answer by a teacher's line; *cannot tell* where the line is silent for most of the span.

    Parameters
    ----------
    reference
        Notes of the line in seconds of the recording.
    midi
        0 to 127, as it would lie in the recording.
    """
    _check(midi)
    shares: dict[int, float] = {}
    for note in reference:
        shares[note.midi] = shares.get(note.midi, 0.0) + note.span.shared_s(span) / span.length_s
    held = max(shares, key=lambda m: shares[m], default=None)
    if held is None or shares[held] <= 0.0:
        return Verdict(line, span, midi, Outcome.CANNOT_TELL, None, 0.0, exact=True)
    if held == midi:
        return Verdict(line, span, midi, Outcome.HEARD, None, 1.0, exact=True)
    if (held - midi) % 12 == 0:
        return Verdict(line, span, midi, Outcome.OTHER_OCTAVE, None, 1.0, exact=True)
    nearby = _nearby_reference(span, reference, midi)
    return Verdict(line, span, midi, Outcome.NOT_HEARD, nearby, 1.0, exact=True)


HELD_LONGER = 1.5
"""A reference note so many times as long as the span asked about may stand for several notes. Our own."""


def holds_longer(reference: Sequence[ReferenceNote], span: Span) -> bool:
    """Whether a teacher's line holds one note there that is much longer than what is asked about."""
    long_s = HELD_LONGER * span.length_s
    return any(note.span.shared_s(span) > 0 and note.span.length_s > long_s for note in reference)


def _check(midi: int) -> None:
    if not 0 <= midi <= 127:
        raise ValueError(f"a MIDI note number lies in 0 to 127, not {midi}")


def _outcome(evidence: PitchEvidence, same: float, octaves: float) -> tuple[Outcome, float]:
    bars = evidence.bars
    neither = max(0.0, 1.0 - same - octaves)
    if not evidence.sounding:
        return Outcome.CANNOT_TELL, 0.0
    if same >= bars.heard:
        return Outcome.HEARD, min(same, 1.0)
    if octaves >= bars.octave:
        return Outcome.OTHER_OCTAVE, min(octaves, 1.0)
    if same + octaves <= bars.absent:
        return Outcome.NOT_HEARD, neither
    return Outcome.CANNOT_TELL, min(1.0, max(same, octaves, neither))


def _beyond(evidence: PitchEvidence, outcome: Outcome, confidence: float) -> tuple[Outcome, float]:
    """What may be said of a pitch that the evidence does not reach.

    It is denied only where another pitch is as good as heard, and never by an octave of its own.
    """
    if outcome is Outcome.NOT_HEARD and max(evidence.posterior) >= evidence.bars.heard:
        return outcome, confidence
    return Outcome.CANNOT_TELL, 0.0


def _nearby(evidence: PitchEvidence, sought: int) -> Nearby | None:
    earlier, later = evidence.of(sought, when="earlier"), evidence.of(sought, when="later")
    if max(earlier, later) < evidence.bars.heard:
        return None
    return Nearby.EARLIER if earlier >= later else Nearby.LATER


NEAR_S = 0.5
"""What counts as close by in time, at most."""


def _nearby_reference(span: Span, reference: Sequence[ReferenceNote], sought: int) -> Nearby | None:
    for note in reference:
        if note.midi != sought:
            continue
        if span.start_s - NEAR_S < note.span.end_s and note.span.start_s < span.start_s:
            return Nearby.EARLIER
        if note.span.start_s < span.end_s + NEAR_S and note.span.end_s > span.end_s:
            return Nearby.LATER
    return None
