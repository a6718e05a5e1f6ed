"""Prompts about one note or one step: compare, match, echo, home note, degree, step or skip."""

from coach.drills.items import interval_named
from coach.drills.prompt import ExpectedName, Prompt
from coach.drills.task import Task, expected_notes
from coach.music.key import SCALE_SEMITONES, Mode
from coach.tones.patterns import drone_notes

COMPARISONS = ("same", "higher", "lower")
MOVES = ("repeat", "step", "skip")
_DRONE_RANGE = (43, 54)
"""G2 to F#3: low enough to be a floor, high enough for a tablet's loudspeaker. Common practice, no source."""
_HARMONIC_SEVENTH = 11


def same_higher_lower(task: Task) -> Prompt:
    """Two notes: the second is the same, higher or lower."""
    size = interval_named(task.skill.item).semitones
    answer = task.rng.choice(COMPARISONS)
    second = {"same": 0, "higher": size, "lower": -size}[answer]
    start = task.start((0, second))
    ask = "Is the second note the same as the first, higher or lower?"
    return task.prompt(
        ask,
        task.run((start, start + second), gap_s=0.15),
        (ExpectedName(answer),),
        choices=COMPARISONS,
        sounding=(start, start + second),
    )


def match_note(task: Task) -> Prompt:
    """One long note, to be matched."""
    midi = task.start((0,))
    return task.prompt(f"{task.verb} the note you hear.", task.run((midi,)), expected_notes((midi,)))


def echo_note(task: Task) -> Prompt:
    """One note, to be sung or played after a silence."""
    midi = task.start((0,))
    ask = f"Keep the note in your ear through the silence, then {task.verb.lower()} it."
    return task.prompt(ask, task.run((midi,)), expected_notes((midi,)))


def step_skip_repeat(task: Task) -> Prompt:
    """Two notes of a scale: a step, a skip or a repeated note? The item is the widest skip."""
    widest = interval_named(task.skill.item).semitones
    answer = task.rng.choice(MOVES)
    sizes = {"repeat": [0], "step": [1, 2], "skip": list(range(3, max(3, widest) + 1))}[answer]
    move = task.rng.choice(sizes) * (1 if task.up() else -1)
    start = task.start((0, move))
    return task.prompt(
        "Did the tune repeat its note, go a step, or skip?",
        task.run((start, start + move), gap_s=0.1),
        (ExpectedName(answer),),
        choices=MOVES,
        sounding=(start, start + move),
    )


def home_note(task: Task) -> Prompt:
    """A phrase that stops before it comes home; its home note is asked for."""
    degrees = tuple(int(token) for token in task.rng.choice(task.drill.patterns[task.skill.item]))
    offsets = tuple(degree_offset(degree, Mode(task.skill.item)) for degree in degrees)
    home = task.start((0,))
    notes = task.run(tuple(home + offset for offset in offsets))
    return task.prompt(
        f"{task.verb} the note on which this tune would come home.", notes, expected_notes((home,))
    )


def degree_over_drone(task: Task) -> Prompt:
    """A drone on the home note: find a degree of the major scale over it."""
    degree = int(task.skill.item)
    midi = task.start((0,))
    home = midi - degree_offset(degree, Mode.MAJOR)
    low = home
    while low > _DRONE_RANGE[1]:
        low -= 12
    while low < _DRONE_RANGE[0]:
        low += 12
    notes = drone_notes(low, 0.0, 2.0 + 2.0 * task.level.note_s)
    if degree == 1:
        ask = f"The low tone is home. {task.verb} the home note."
    else:
        ask = f"The low tone is home: call it 1. {task.verb} note {degree} of the scale."
    return task.prompt(ask, notes, expected_notes((midi,)))


def degree_offset(degree: int, mode: Mode) -> int:
    """Semitones from the home note to a degree.

    8 and 9 lie above the octave, negative degrees below the home note (-5 is the fifth degree below). In
    minor the seventh is raised, as melodies lead it home.
    """
    place = (degree - 1 if degree > 0 else -degree - 1) % 7
    octave = (degree - 1) // 7 if degree > 0 else -1
    semitones = SCALE_SEMITONES[mode][place]
    if mode is Mode.MINOR and place == 6:
        semitones = _HARMONIC_SEVENTH
    return semitones + 12 * octave
