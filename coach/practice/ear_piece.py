"""What the piece in hand asks of the ear: its intervals, its bass moves."""

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

from coach.drills.data import Direction
from coach.drills.items import interval_of_semitones
from coach.drills.kinds import Kind
from coach.practice.skills import Skill

_MOST_INTERVALS = 5
_INTERVAL_KINDS = frozenset({Kind.INTERVAL_ECHO, Kind.INTERVAL_FROM_NOTE, Kind.NAME_INTERVAL})
_BASS_KINDS = frozenset({Kind.BASS_MOVES, Kind.TAP_BASS_CHANGE, Kind.CHORD_OUTER})


def useful_skills(
    skills: Sequence[Skill], melody: Sequence[int], *, bass_next: bool = False
) -> frozenset[str]:
    """Texts of the skills that prepare the next section.

    Parameters
    ----------
    skills
        All there are.
    melody
        Its tune (MIDI), in order; empty before one is known, and then nothing is useful but the bass.
    bass_next
        Whether the bass is the next to be found.
    """
    moves = _frequent_moves(melody)
    return frozenset(skill.text for skill in skills if _helps(skill, moves, bass_next=bass_next))


def _helps(skill: Skill, moves: frozenset[tuple[str, Direction]], *, bass_next: bool) -> bool:
    if skill.kind is Kind.PIECE_MOVES:
        return bool(moves)
    if skill.kind in _BASS_KINDS:
        return bass_next
    return skill.kind in _INTERVAL_KINDS and _among(skill, moves)


def _frequent_moves(melody: Sequence[int]) -> frozenset[tuple[str, Direction]]:
    """The most frequent intervals of a tune, by name and direction; repeated notes are none."""
    counts = Counter(after - before for before, after in pairwise(melody) if after != before)
    return frozenset(
        (interval_of_semitones(abs(move)).short_name, Direction.UP if move > 0 else Direction.DOWN)
        for move, _ in counts.most_common(_MOST_INTERVALS)
        if abs(move) <= 16
    )


def _among(skill: Skill, moves: frozenset[tuple[str, Direction]]) -> bool:
    if skill.key.direction is Direction.ANY:
        return any(name == skill.key.item for name, _ in moves)
    return (skill.key.item, skill.key.direction) in moves
