"""Prompts of several notes: phrases of a scale, and moves from the piece in hand."""

from itertools import pairwise

from coach.drills.prompt import Prompt
from coach.drills.shuffled import shuffled_moves
from coach.drills.task import Task, expected_notes
from coach.music.key import SCALE_SEMITONES, Mode

_WIDEST_SCALE_STEPS = 4
"""A phrase to be echoed leaps by a fifth at most."""
_PAIR_MOVES, _CHAIN_MOVES = 1, 3


def phrase_echo(task: Task) -> Prompt:
    """Three to six notes of a major scale, to be sung or played back."""
    count = int(task.skill.item)
    widest = max(1, min(_WIDEST_SCALE_STEPS, task.level.reach // 2))
    place = task.rng.randint(0, 6)
    places = [place]
    while len(places) < count:
        move = task.rng.choice([step for step in range(-widest, widest + 1) if step != 0])
        if abs(move) > 1 and task.rng.random() < 0.5:
            move = 1 if move > 0 else -1
        if max([*places, places[-1] + move]) - min([*places, places[-1] + move]) <= 7:
            places.append(places[-1] + move)
    semitones = [_scale(place) for place in places]
    offsets = [one - semitones[0] for one in semitones]
    start = task.start(offsets)
    midis = tuple(start + offset for offset in offsets)
    return task.prompt(f"{task.verb} this phrase back.", task.run(midis), expected_notes(midis))


def piece_moves(task: Task) -> Prompt:
    """Moves of the tune of the next section, in another key and another order.

    The skill's item says how many: ``pairs`` are single intervals, ``chains`` two or three of them, never
    in an order that gives the tune away. ``ValueError`` if the context holds no melody of at least two notes.
    """
    tune = task.context.melody
    if len(tune) < 2:
        raise ValueError("a drill from the piece needs the tune of a section")
    count = _PAIR_MOVES if task.skill.item == "pairs" else task.rng.randint(2, _CHAIN_MOVES)
    low, high = task.context.compass(task.by)
    moves = shuffled_moves(tune, count, task.rng, widest=max(12, high - low))
    offsets = [0]
    for move in moves:
        offsets.append(offsets[-1] + move)
    start = _in_another_key(task, offsets, tune)
    midis = tuple(start + offset for offset in offsets)
    return task.prompt(f"{task.verb} these notes back, in order.", task.run(midis), expected_notes(midis))


def _in_another_key(task: Task, offsets: list[int], tune: tuple[int, ...]) -> int:
    """A first note by which no move lies where the tune has it, in the player's range if there is one."""
    own = set(pairwise(tune))
    low, high = task.context.compass(task.by)
    start = task.start(offsets)
    near = sorted(range(-11, 12), key=abs)
    least, most = start + min(offsets), start + max(offsets)
    fitting = [shift for shift in near if low <= least + shift and most + shift <= high]
    for shift in (*fitting, *near):
        if not own & set(pairwise(start + shift + offset for offset in offsets)):
            return start + shift
    return start


def _scale(place: int) -> int:
    octave, degree = divmod(place, 7)
    return 12 * octave + SCALE_SEMITONES[Mode.MAJOR][degree]
