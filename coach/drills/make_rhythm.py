"""Prompts of a rhythm, to be plucked, clapped or tapped back."""

from fractions import Fraction

from coach.drills.prompt import ExpectedOnset, Prompt
from coach.drills.task import Task
from coach.tones.patterns import count_in
from coach.tones.prompt import PromptNote, Timbre

_COUNTED_BEATS = 4
_RHYTHM_MIDI = 57
_QUIET_S = 0.1
"""Silence before the first click, so that nothing begins with a bang."""
_LEAD_BEATS = Fraction(1)
"""The answer is written one beat into the listening; the player may begin whenever they like."""


def rhythm_echo(task: Task) -> Prompt:
    """One bar is counted in, then a rhythm sounds on one pitch."""
    row = task.rng.choice(task.drill.patterns[task.skill.item])
    onsets = tuple(Fraction(token) for token in row)
    beat_s = 60.0 / task.level.tempo_bpm
    midi = _RHYTHM_MIDI + task.rng.randint(-5, 5)
    ends = (*onsets[1:], onsets[-1] + 1)
    notes = tuple(
        PromptNote(
            midi,
            _QUIET_S + float(_COUNTED_BEATS + onset) * beat_s,
            _QUIET_S
            + float(_COUNTED_BEATS + onset + min(Fraction(1), end - onset) * Fraction(9, 10)) * beat_s,
            Timbre.PLUCK,
        )
        for onset, end in zip(onsets, ends, strict=True)
    )
    expected = tuple(
        ExpectedOnset(round(float(onset - onsets[0] + _LEAD_BEATS) * beat_s, 4)) for onset in onsets
    )
    bars = -(-(int(onsets[-1]) + 1) // _COUNTED_BEATS)
    return task.prompt(
        "Clap, tap or pluck this rhythm back.",
        notes,
        expected,
        clicks=count_in(_COUNTED_BEATS, task.level.tempo_bpm, start_s=_QUIET_S),
        sound_s=_QUIET_S + float(_COUNTED_BEATS * (1 + bars)) * beat_s,
    )
