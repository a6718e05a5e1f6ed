"""Prompts on the fretboard: a natural note by name, a note in its other places."""

from coach.drills.prompt import ExpectedPlace, Prompt
from coach.drills.task import Task
from coach.music.key import Key
from coach.music.naming import screen_name
from coach.notation.note import Place

NATURAL_FRETS = 5
LAST_FRET = 12
_NATURAL_CLASSES = frozenset({0, 2, 4, 5, 7, 9, 11})
_ORDINALS = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth"}


def natural_notes(task: Task) -> Prompt:
    """Find a natural note on one string, at most on the fifth fret."""
    string = int(task.skill.item)
    open_midi = _open(task, string)
    highest = min(NATURAL_FRETS, max(1, task.level.reach))
    frets = [fret for fret in range(highest + 1) if (open_midi + fret) % 12 in _NATURAL_CLASSES]
    fret = task.rng.choice(frets or [0])
    midi = open_midi + fret
    name = screen_name(Key("C", 0).spell(midi), task.context.naming)
    return task.prompt(
        f"Find {name} on the {_ORDINALS[string]} string, within five frets.",
        task.run((midi,)),
        (ExpectedPlace(string, fret),),
        sounding=(midi,),
    )


def other_places(task: Task) -> Prompt:
    """A place is shown: touch all other places of the very same note, up to fret 12."""
    string = int(task.skill.item)
    frets = [fret for fret in range(1, task.level.reach + 1) if _others(task, string, fret)]
    if not frets:
        frets = [fret for fret in range(LAST_FRET + 1) if _others(task, string, fret)] or [0]
    fret = task.rng.choice(frets)
    midi = _open(task, string) + fret
    others = _others(task, string, fret) or (Place(string, fret),)
    return task.prompt(
        "Find this very note in its other places, up to fret 12.",
        task.run((midi,)),
        tuple(ExpectedPlace(place.string, place.fret) for place in others),
        shown=(Place(string, fret),),
        sounding=(midi,),
    )


def _open(task: Task, string: int) -> int:
    return task.context.tuning[6 - string]


def _others(task: Task, string: int, fret: int) -> tuple[Place, ...]:
    midi = _open(task, string) + fret
    return tuple(
        Place(other, midi - _open(task, other))
        for other in range(6, 0, -1)
        if other != string and 0 <= midi - _open(task, other) <= LAST_FRET
    )
