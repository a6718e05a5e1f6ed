"""Prompts about two notes: echo, find from a given note, both notes of a chord, name."""

from coach.drills.items import interval_named, interval_names
from coach.drills.prompt import ExpectedName, Prompt
from coach.drills.task import Task, expected_notes
from coach.tones.prompt import PromptNote

_ROLL_S = 0.6
_ROLL_GAP_S = 0.1


def interval_echo(task: Task) -> Prompt:
    """Two notes one after the other, to be sung or played back."""
    size = interval_named(task.skill.item).semitones * (1 if task.up() else -1)
    start = task.start((0, size))
    midis = (start, start + size)
    return task.prompt(f"{task.verb} both notes, in order.", task.run(midis), expected_notes(midis))


def interval_from_note(task: Task) -> Prompt:
    """One note sounds, another is asked for so far above or below it."""
    up = task.up()
    size = interval_named(task.skill.item).semitones * (1 if up else -1)
    low, high = task.context.compass(task.by)
    # Only the answer is sung: where both do not fit, the answer must.
    start = task.start((0, size) if abs(size) <= high - low else (size,))
    if task.context.theory_words:
        name = interval_named(task.skill.item).name
        article = "an" if name[0] in "aeiou" else "a"
        ask = f"{task.verb} {article} {name} {'above' if up else 'below'} this note."
    else:
        ask = f"{task.verb} the note {_frets(abs(size))} {'higher' if up else 'lower'} in sound."
    return task.prompt(ask, task.run((start,)), expected_notes((start + size,)))


def two_note_chord(task: Task) -> Prompt:
    """Two notes together (broken first on easy levels): both, from the bottom up."""
    size = interval_named(task.skill.item).semitones
    start = task.start((0, size))
    midis = (start, start + size)
    ask = f"{task.verb} the bottom note of this chord, then the top note."
    return task.prompt(ask, chord_notes(task, midis), expected_notes(midis))


def name_interval(task: Task) -> Prompt:
    """Two notes whose interval is to be named, among the intervals of the drill."""
    size = interval_named(task.skill.item).semitones * (1 if task.up() else -1)
    start = task.start((0, size))
    midis = (start, start + size)
    order = interval_names()
    items = sorted(task.drill.items, key=order.index)
    names = tuple(_name(task, item) for item in items)
    return task.prompt(
        "How far apart are the two notes?",
        task.run(midis, gap_s=0.05),
        (ExpectedName(_name(task, task.skill.item)),),
        choices=names,
        sounding=midis,
    )


def chord_notes(task: Task, midis: tuple[int, ...]) -> tuple[PromptNote, ...]:
    """A struck chord, on easy levels rolled out note by note before it is struck."""
    at_s = 0.0
    rolled = []
    if task.level.broken:
        for midi in midis:
            rolled.append(PromptNote(midi, at_s, at_s + _ROLL_S, task.timbre))
            at_s += _ROLL_S + _ROLL_GAP_S
    struck = [PromptNote(midi, at_s, at_s + 1.5 * task.level.note_s, task.timbre, -3.0) for midi in midis]
    return (*rolled, *struck)


def _name(task: Task, item: str) -> str:
    interval = interval_named(item)
    return interval.name if task.context.theory_words else _frets(interval.semitones)


def _frets(count: int) -> str:
    return "1 fret" if count == 1 else f"{count} frets"
