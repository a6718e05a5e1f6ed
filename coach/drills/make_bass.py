"""Prompts about what lies under a harmony: bass moves, when the bass changes, outer notes of a chord."""

from itertools import pairwise

from coach.drills.kinds import By, Rule
from coach.drills.make_interval import chord_notes
from coach.drills.make_single import degree_offset
from coach.drills.prompt import ExpectedOnset, Prompt
from coach.drills.task import Task, expected_notes
from coach.music.key import Mode
from coach.tones.prompt import PromptNote, Timbre

BASS_RANGE = (40, 53)
"""E2 to F3: the three lowest strings within the first frets."""
_CHORD_DB = -10.0
"""Of each note of a chord over the bass: it is heard, but does not lead."""
_BEATS_A_BAR = 4
_TRIES = 200
"""So often a line that can be sung is looked for by chance; the last one is taken where none can."""
_TRIADS = ((0, 4, 7), (0, 3, 7))
_VOICINGS = ((0, 1, 2), (1, 2, 3), (2, 3, 4), (0, 2, 4), (0, 2, 3, 4), (1, 3, 5))
"""Which notes of a stacked triad sound, counted from its root up: close, inverted and open positions."""


def bass_moves(task: Task) -> Prompt:
    """The bass goes from degree to degree, on hard levels under soft chords: sing or play it."""
    bass = _bass_line(task, tuple(int(token) for token in task.skill.item.split("-")))
    step_s = 1.4 * task.level.note_s
    notes = []
    for index, midi in enumerate(bass):
        at_s = index * step_s
        notes.append(PromptNote(midi, at_s, at_s + 0.95 * step_s, task.timbre))
        if not task.level.broken:
            over = (midi + 12 + offset for offset in _TRIADS[0])
            notes.extend(PromptNote(one, at_s, at_s + 0.9 * step_s, Timbre.PLUCK, _CHORD_DB) for one in over)
    midis = _moved_together(task, bass)
    ask = f"{task.verb} the bass notes, in order. An octave higher is just as right."
    return task.prompt(ask, notes, expected_notes(midis))


def tap_bass_change(task: Task) -> Prompt:
    """A bass repeats on every beat: strike along whenever it changes."""
    level = task.level
    changes = task.rng.randint(*level.notes)
    beats = _change_beats(task, changes)
    beat_s = 60.0 / level.tempo_bpm
    home = task.rng.randint(BASS_RANGE[0] + 3, BASS_RANGE[1] - 4)
    lines = [home + offset for offset in (0, 5, -3, 2, -5, 4)]
    notes, midi, previous = [], home, home
    for beat in range(beats[-1] + _BEATS_A_BAR):
        if beat in beats:
            previous, midi = midi, task.rng.choice([one for one in lines if one not in {midi, previous}])
        at_s = beat * beat_s
        notes.append(PromptNote(midi, at_s, at_s + 0.9 * beat_s, Timbre.DEEP))
        if not level.broken:
            notes.extend(
                PromptNote(home + offset, at_s + 0.02, at_s + 0.8 * beat_s, task.timbre, _CHORD_DB)
                for offset in (16, 19)
            )
    expected = tuple(ExpectedOnset(round(beat * beat_s, 4)) for beat in beats)
    ask = "Tap, clap or pluck each time the bass changes, while it plays."
    return task.prompt(ask, notes, expected, along=True)


def chord_outer(task: Task) -> Prompt:
    """A chord of three or four notes: its lowest or its top note."""
    low, high = (BASS_RANGE[0], 69) if task.skill.item == "lowest" else (48, 74)
    triad = task.rng.choice(_TRIADS)
    stacked = [triad[index % 3] + 12 * (index // 3) for index in range(6)]
    count = task.rng.randint(*task.level.notes)
    voicings = [voicing for voicing in _VOICINGS if len(voicing) == count] or list(_VOICINGS)
    chosen = task.rng.choice(voicings)
    offsets = [stacked[index] - stacked[chosen[0]] for index in chosen]
    lowest = task.rng.randint(low, max(low, high - offsets[-1] - 5))
    midis = tuple(lowest + offset for offset in offsets)
    asked = midis[0] if task.skill.item == "lowest" else midis[-1]
    word = "lowest" if task.skill.item == "lowest" else "top"
    return task.prompt(
        f"{task.verb} the {word} note of this chord.",
        chord_notes(task, midis),
        expected_notes((task.singable(asked),)),
        rule=_outer_rule(task),
    )


def _outer_rule(task: Task) -> Rule:
    return task.drill.kind.rule(task.by, lowest=task.skill.item == "lowest")


def _bass_line(task: Task, degrees: tuple[int, ...]) -> tuple[int, ...]:
    """The degrees as bass notes; where they are to be sung, such that some octave of them can be."""
    bass = _any_line(task, degrees)
    for _ in range(_TRIES):
        moved = _moved_together(task, bass)
        low, high = task.context.compass(task.by)
        if task.by is not By.VOICE or (low <= min(moved) and max(moved) <= high):
            break
        bass = _any_line(task, degrees)
    return bass


def _any_line(task: Task, degrees: tuple[int, ...]) -> tuple[int, ...]:
    """The degrees as bass notes, each reached by the nearer way, with a chance of the other one."""
    offsets = [0]
    classes = [degree_offset(degree, Mode.MAJOR) for degree in degrees]
    for before, now in pairwise(classes):
        up = (now - before) % 12
        offsets.append(offsets[-1] + (up if task.rng.random() < 0.4 or up == 0 else up - 12))
    span = max(offsets) - min(offsets)
    if span > BASS_RANGE[1] - BASS_RANGE[0]:
        offsets = [(one - classes[0]) % 12 for one in classes]
    low, high = BASS_RANGE[0] - min(offsets), BASS_RANGE[1] - max(offsets)
    start = task.rng.randint(low, max(low, high))
    return tuple(start + offset for offset in offsets)


def _moved_together(task: Task, bass: tuple[int, ...]) -> tuple[int, ...]:
    """The bass moved by whole octaves, as one, to where the voice reaches it best."""
    if task.by is not By.VOICE:
        return bass
    low, high = task.context.compass(By.VOICE)
    least, most = min(bass), max(bass)
    shift = min(range(-12, 49, 12), key=lambda by: max(low - least - by, most + by - high))
    return tuple(midi + shift for midi in bass)


def _change_beats(task: Task, changes: int) -> tuple[int, ...]:
    """The beats on which the bass changes: on bars, or at least two beats apart anywhere."""
    if task.skill.item == "bars":
        bars = [1]
        while len(bars) < changes:
            bars.append(bars[-1] + task.rng.choice((1, 1, 2)))
        return tuple(_BEATS_A_BAR * bar for bar in bars)
    beats = [task.rng.randint(2, 5)]
    while len(beats) < changes:
        beats.append(beats[-1] + task.rng.choice((2, 3, 3, 4, 5)))
    return tuple(beats)
