"""Grading notes: pitch by pitch, in order, by the octave rule."""

from collections.abc import Sequence

from coach.drills.answers import GivenNotes, HeardNotes
from coach.drills.grade import Grade, graded
from coach.drills.kinds import By, Rule
from coach.drills.prompt import Prompt
from coach.drills.solid import solid_notes

_OTHER_OCTAVE_CREDIT = 0.5
_FOUND_LATE_CREDIT = 0.3


def grade_notes(prompt: Prompt, answer: HeardNotes | GivenNotes, *, again: int = 0) -> Grade:
    """Grade notes sung, played or typed against the expected ones.

    A sung note is right within the level's cents of an expected pitch, a played one as its nearest semitone.
    An answer of one note is the first solid note; one found only on the way gets some credit.
    """
    expected = prompt.midis
    sung = isinstance(answer, HeardNotes) and prompt.by is By.VOICE
    answer_s = None
    if isinstance(answer, GivenNotes):
        heard = measured = [float(midi) for midi in answer.midis]
    else:
        solid = solid_notes(answer.notes, prompt.by, len(expected))
        measured = [note.midi + note.cents / 100.0 for note in solid]
        heard = measured if sung else [float(note.midi) for note in solid]
        answer_s = solid[0].span.start_s if solid else None
    limit = prompt.measure.cents if sung else 50.0
    if len(expected) == 1:
        credit = _single(expected[0], heard, prompt.rule, limit)
        heard, measured = heard[:1], measured[:1]
    else:
        credit = _sequence(expected, heard, prompt.rule, limit)
    cents = _worst_cents(expected, measured)
    clumsy = len(expected) > 1 and credit >= 1.0 and not _one_shift(expected, heard)
    return graded(
        credit,
        measure=prompt.measure,
        cents=cents,
        sung=sung,
        answer_s=answer_s,
        clumsy=clumsy,
        again=again,
    )


def octave_offset(expected: int, heard: float) -> tuple[int, float]:
    """By how many octaves, and then by how many cents (-600 to 600), a note is off."""
    octaves = round((heard - expected) / 12.0)
    return octaves, 100.0 * (heard - expected - 12.0 * octaves)


def note_credit(expected: int, heard: float, rule: Rule, limit_cents: float) -> float:
    """1 for a right note, a half for the right note in a wrong octave, else 0."""
    octaves, cents = octave_offset(expected, heard)
    if abs(cents) > limit_cents:
        return 0.0
    fine = {
        Rule.EXACT: octaves == 0,
        Rule.ANY_OCTAVE: True,
        Rule.OCTAVE_UP_OK: octaves in {0, 1},
    }[rule]
    return 1.0 if fine else _OTHER_OCTAVE_CREDIT


def _single(expected: int, heard: Sequence[float], rule: Rule, limit: float) -> float:
    if not heard:
        return 0.0
    each = [note_credit(expected, one, rule, limit) for one in heard]
    return each[0] if each[0] > 0.0 else _FOUND_LATE_CREDIT * max(each)


def _sequence(expected: Sequence[int], heard: Sequence[float], rule: Rule, limit: float) -> float:
    """Share of right notes in the best alignment that keeps the order; extra notes count against it."""
    best = [0.0] * (len(heard) + 1)
    for midi in expected:
        row = [0.0]
        for index, one in enumerate(heard):
            with_this = best[index] + note_credit(midi, one, rule, limit)
            row.append(max(with_this, best[index + 1], row[index]))
        best = row
    return best[-1] / max(len(expected), len(heard))


def _worst_cents(expected: Sequence[int], heard: Sequence[float]) -> float | None:
    if len(expected) != len(heard) or not heard:
        return None
    offsets = [octave_offset(midi, one)[1] for midi, one in zip(expected, heard, strict=True)]
    worst: float = max(offsets, key=abs)
    return round(worst, 1)


def _one_shift(expected: Sequence[int], heard: Sequence[float]) -> bool:
    """Whether all notes are off by the same number of octaves."""
    return len({octave_offset(midi, one)[0] for midi, one in zip(expected, heard, strict=True)}) == 1
