"""Where the bass changes inside a bar: times alone, for the player to look for a note there."""

from collections.abc import Callable
from fractions import Fraction

from coach.errors import ScopeError
from coach.hearing.evidence import PitchEvidence
from coach.practice.piece_state import PieceState, SectionState
from coach.sessions.ports import Jobs

SURE = 0.7
"""A change is suggested where both beats hold one pitch so surely: half a guess is no help (ours)."""

EDGE = Fraction(1, 8)
"""So much of a beat is left out at both of its ends: notes are not struck exactly on it (ours)."""


def bass_changes(
    piece: PieceState,
    section: SectionState,
    asked: Callable[[Fraction, Fraction], PitchEvidence],
    jobs: Jobs,
) -> tuple[Fraction, ...]:
    """Beats inside the bars of a section at which the lowest line goes over to another note.

    Nothing of its pitches is given away: times are all that comes out. First beats of bars are not among
    them, nor is any time of a section without beats.

    Parameters
    ----------
    asked
        What the recording tells about the bass from an onset on for so long, in quarters; ``ScopeError``
        behind the recording's end.

    Raises
    ------
    CancelledError
        If the player stopped it.
    """
    if piece.free(section.name):
        return ()
    beat = piece.meter.beat
    beats = [section.onset + number * beat for number in range(-(-(section.end - section.onset) // beat))]
    held = []
    for number, at in enumerate(beats):
        jobs.progress(number / len(beats), "Listening for where the bass changes")
        held.append(_held(asked, at + EDGE * beat, min(beat, section.end - at) - 2 * EDGE * beat))
    found = []
    for before, at, now, after in zip(held, beats[1:], held[1:], [*held[2:], None], strict=False):
        into = (at - piece.pickup) % piece.meter.bar
        early = into + beat == piece.meter.bar and now == after  # the next bar's note, heard too soon
        if into and not early and None not in {before, now} and now != before:
            found.append(at)
    return tuple(found)


def _held(asked: Callable[[Fraction, Fraction], PitchEvidence], at: Fraction, length: Fraction) -> int | None:
    """Which pitch one beat holds, by its place in the table; ``None`` where none is sure."""
    try:
        found = asked(at, length)
    except ScopeError:
        return None
    surest = max(range(len(found.posterior)), key=found.posterior.__getitem__)
    return surest if found.posterior[surest] >= SURE else None
