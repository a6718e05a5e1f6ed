"""From a drill to a prompt."""

from collections.abc import Callable
from random import Random
from typing import Final

from coach.drills.context import DrillContext
from coach.drills.data import Drill, SkillKey
from coach.drills.kinds import By, Kind
from coach.drills.make_bass import bass_moves, chord_outer, tap_bass_change
from coach.drills.make_interval import interval_echo, interval_from_note, name_interval, two_note_chord
from coach.drills.make_phrase import phrase_echo, piece_moves
from coach.drills.make_place import natural_notes, other_places
from coach.drills.make_rhythm import rhythm_echo
from coach.drills.make_single import (
    degree_over_drone,
    echo_note,
    home_note,
    match_note,
    same_higher_lower,
    step_skip_repeat,
)
from coach.drills.prompt import Prompt
from coach.drills.task import Task

_MAKERS: Final[dict[Kind, Callable[[Task], Prompt]]] = {
    Kind.SAME_HIGHER_LOWER: same_higher_lower,
    Kind.MATCH_NOTE: match_note,
    Kind.ECHO_NOTE: echo_note,
    Kind.HOME_NOTE: home_note,
    Kind.STEP_SKIP_REPEAT: step_skip_repeat,
    Kind.DEGREE_OVER_DRONE: degree_over_drone,
    Kind.INTERVAL_ECHO: interval_echo,
    Kind.INTERVAL_FROM_NOTE: interval_from_note,
    Kind.BASS_MOVES: bass_moves,
    Kind.TAP_BASS_CHANGE: tap_bass_change,
    Kind.TWO_NOTE_CHORD: two_note_chord,
    Kind.CHORD_OUTER: chord_outer,
    Kind.PHRASE_ECHO: phrase_echo,
    Kind.RHYTHM_ECHO: rhythm_echo,
    Kind.NATURAL_NOTES: natural_notes,
    Kind.OTHER_PLACES: other_places,
    Kind.PIECE_MOVES: piece_moves,
    Kind.NAME_INTERVAL: name_interval,
}


def make_prompt(
    drill: Drill,
    level: int,
    rng: Random,
    context: DrillContext,
    *,
    by: By | None = None,
    skill: SkillKey | None = None,
) -> Prompt:
    """Make one prompt of a drill.

    Parameters
    ----------
    drill
        From `coach.drills.loading`.
    level
        From 1; beyond the drill's hardest, the hardest.
    rng
        The one source of chance: the same state gives the same prompt.
    context
        The player and the piece.
    by
        What the player answers with; the skill's, else the drill's first, else the guitar.
    skill
        Which of the drill's skills; one at random where ``None``: of those met first on level 1, else of all.

    Raises
    ------
    ValueError
        If the skill is another drill's, or a drill from the piece is given no tune.
    """
    if skill is not None and skill.drill != drill.name:
        raise ValueError(f"the skill {skill.text} does not belong to the drill {drill.name}")
    player = by or _player(drill, skill)
    chosen = skill or _any_skill(drill, level, player, rng)
    number = min(level, len(drill.levels))
    timbre = rng.choice(drill.level(number).timbres)
    return _MAKERS[drill.kind](Task(drill, number, chosen, player, rng, context, timbre))


def _player(drill: Drill, skill: SkillKey | None) -> By:
    if skill is not None and skill.by in set(By):
        return By(skill.by)
    return drill.by[0] if drill.by else By.GUITAR


def _any_skill(drill: Drill, level: int, by: By, rng: Random) -> SkillKey:
    skills = [skill for skill in drill.skills() if skill.by == by] or list(drill.skills())
    first = [skill for skill in skills if skill.item in drill.items[: drill.first]]
    return rng.choice(first if level == 1 and first else skills)
